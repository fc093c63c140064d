-- When each jar was first seen at each stage, kept with what else the entries
-- come to, so that what past batches teach is read without reading all
-- entries; and a number of each batch that grows with every change of how its
-- jars stand, so that what was made of them need not be made again.

-- +goose Up
ALTER TABLE jar_now ADD COLUMN sights TEXT NOT NULL DEFAULT '';

-- Open jars are few, and what is looked for most.
CREATE INDEX jar_now_open ON jar_now (batch) WHERE blank = FALSE AND fate IN ('', 'growing');
CREATE INDEX jar_now_open_shelf ON jar_now (shelf) WHERE blank = FALSE AND fate IN ('', 'growing');

CREATE TABLE batch_now (
    batch TEXT PRIMARY KEY REFERENCES batch (id),
    changes BIGINT NOT NULL
);
INSERT INTO batch_now (batch, changes) SELECT id, 1 FROM batch;

-- The visits of each jar in their order, each with the one before it; a later
-- stage tells of the earlier ones, and a pick of all.
CREATE TABLE sight_before (
    jar TEXT NOT NULL,
    place BIGINT NOT NULL,
    told TEXT NOT NULL,
    PRIMARY KEY (jar, place)
);
INSERT INTO sight_before (jar, place, told)
WITH visit AS (
  SELECT jar, at, MAX(place) AS place, COALESCE(LAG(at) OVER (PARTITION BY jar ORDER BY at), '') AS before FROM (
    SELECT s.jar, CASE s.stage WHEN 'growth' THEN 1 WHEN 'cover' THEN 2 WHEN 'light' THEN 3 WHEN 'colour' THEN 4 WHEN 'pins' THEN 5 WHEN 'ready' THEN 6 ELSE 0 END AS place,
      s.happened || s.happened_exact AS at
    FROM seen s
    WHERE s.happened_exact IN ('exact', 'day') AND s.withdrawn = FALSE
      AND NOT EXISTS (SELECT 1 FROM seen c WHERE c.jar = s.jar AND c.corrects = s.id)
    UNION ALL
    SELECT p.jar, 6, p.happened || p.happened_exact
    FROM pick p
    WHERE p.happened_exact IN ('exact', 'day') AND p.withdrawn = FALSE
      AND NOT EXISTS (SELECT 1 FROM pick c WHERE c.jar = p.jar AND c.corrects = p.id)
  ) AS seen_or_picked GROUP BY jar, at
)
SELECT v.jar, k.place, k.stage || '=' || MIN(v.at) || '<' || MIN(v.before) || ';'
FROM visit v JOIN (
  SELECT 1 AS place, 'growth' AS stage UNION ALL SELECT 2, 'cover' UNION ALL SELECT 3, 'light'
  UNION ALL SELECT 4, 'colour' UNION ALL SELECT 5, 'pins' UNION ALL SELECT 6, 'ready'
) k ON v.place >= k.place
GROUP BY v.jar, k.place, k.stage;
UPDATE jar_now SET sights =
     COALESCE((SELECT told FROM sight_before s WHERE s.jar = jar_now.jar AND s.place = 1), '')
  || COALESCE((SELECT told FROM sight_before s WHERE s.jar = jar_now.jar AND s.place = 2), '')
  || COALESCE((SELECT told FROM sight_before s WHERE s.jar = jar_now.jar AND s.place = 3), '')
  || COALESCE((SELECT told FROM sight_before s WHERE s.jar = jar_now.jar AND s.place = 4), '')
  || COALESCE((SELECT told FROM sight_before s WHERE s.jar = jar_now.jar AND s.place = 5), '')
  || COALESCE((SELECT told FROM sight_before s WHERE s.jar = jar_now.jar AND s.place = 6), '')
WHERE jar IN (SELECT jar FROM sight_before);
DROP TABLE sight_before;
