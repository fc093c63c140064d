package sqldb

import (
	"context"
	"fmt"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

var forecasts = &table[lab.Forecast]{
	name: "forecast",
	columns: func(f *lab.Forecast) []column {
		return []column{
			text("id", &f.ID), text("batch", &f.Batch), text("stage", &f.Stage), text("after_stage", &f.After), day("since", &f.Since),
			moment("made", &f.Made), quantity("passed", &f.Passed), document("chances", &f.Chances), quantity("book", &f.Book),
			quantity("own", &f.Own), number("batches", &f.Batches), text("inputs", &f.Inputs),
		}
	},
	taken: func(_ context.Context, _ *tx, f lab.Forecast) error {
		return lab.Conflictf("read the one that was kept", "a forecast of %s was kept for this batch already", f.Stage.Label())
	},
}

func (t *tx) Forecasts(ctx context.Context, batches ...lab.BatchID) ([]lab.Forecast, error) {
	list, err := t.dialect.list(words(batches))
	if err != nil {
		return nil, t.fail(err)
	}
	return query(ctx, t, forecasts, "WHERE "+t.dialect.among("batch", "$1")+" ORDER BY seq", list)
}

func (t *tx) AddForecasts(ctx context.Context, f []lab.Forecast) error {
	return add(ctx, t, forecasts, f...)
}

const courseText = `SELECT n.batch, j.recipe, n.carries, n.inoculated, n.inoculated_exact, n.fate, COUNT(*), MAX(n.last_seen || n.last_seen_exact)
FROM jar_now n JOIN jar j ON j.id = n.jar
WHERE %s AND n.blank = FALSE AND n.inoculated_exact <> ''
GROUP BY n.batch, j.recipe, n.carries, n.inoculated, n.inoculated_exact, n.fate
ORDER BY n.batch, MIN(j.number), n.fate`

func (t *tx) Courses(ctx context.Context, batches []lab.BatchID) ([]store.Course, error) {
	return ofBatches(ctx, t, courseText, batches, func(c *store.Course) []any {
		inoculated, exact := when("inoculated", &c.Inoculated)
		return []any{&c.Batch, ref("recipe", &c.Recipe), ref("carries", &c.Carries), inoculated, exact, &c.Fate, &c.Jars, stamp{&c.LastSeen}}
	})
}

// arrivalText reads the visits of each jar in their order, each with the one
// before it; a later stage tells of the earlier ones, and a pick of all. The
// first visit that tells of a stage has the smallest time, and so has the one
// before it.
const arrivalText = `WITH visit AS (
  SELECT jar, at, MAX(place) AS place, COALESCE(LAG(at) OVER (PARTITION BY jar ORDER BY at), '') AS before FROM (
    SELECT s.jar, CASE s.stage WHEN 'growth' THEN 1 WHEN 'cover' THEN 2 WHEN 'light' THEN 3 WHEN 'colour' THEN 4 WHEN 'pins' THEN 5 WHEN 'ready' THEN 6 ELSE 0 END AS place,
      s.happened || s.happened_exact AS at
    FROM jar_now n JOIN seen s ON s.jar = n.jar
    WHERE %[1]s AND n.blank = FALSE AND s.happened_exact IN ('exact', 'day') AND s.withdrawn = FALSE
      AND NOT EXISTS (SELECT 1 FROM seen c WHERE c.jar = s.jar AND c.corrects = s.id)
    UNION ALL
    SELECT p.jar, 6, p.happened || p.happened_exact
    FROM jar_now n JOIN pick p ON p.jar = n.jar
    WHERE %[1]s AND n.blank = FALSE AND p.happened_exact IN ('exact', 'day') AND p.withdrawn = FALSE
      AND NOT EXISTS (SELECT 1 FROM pick c WHERE c.jar = p.jar AND c.corrects = p.id)
  ) AS seen_or_picked GROUP BY jar, at
), came AS (
  SELECT v.jar, k.place, MIN(v.at) AS at, MIN(v.before) AS before
  FROM visit v JOIN (SELECT 1 AS place UNION ALL SELECT 2 UNION ALL SELECT 3 UNION ALL SELECT 4 UNION ALL SELECT 5 UNION ALL SELECT 6) k ON v.place >= k.place
  GROUP BY v.jar, k.place
)
SELECT n.batch, c.place, c.at, c.before, n.fate, COUNT(*) FROM came c JOIN jar_now n ON n.jar = c.jar
GROUP BY n.batch, c.place, c.at, c.before, n.fate ORDER BY n.batch, c.place, c.at, c.before, n.fate`

func (t *tx) Arrivals(ctx context.Context, batches []lab.BatchID) ([]store.Arrival, error) {
	return ofBatches(ctx, t, arrivalText, batches, func(a *store.Arrival) []any {
		return []any{&a.Batch, stageAt{&a.Stage}, stamp{&a.By}, stamp{&a.Before}, &a.Fate, &a.Jars}
	})
}

// ofBatches collects what text says of the batches, %s in it being the
// condition on n.batch.
func ofBatches[T any](ctx context.Context, t *tx, text string, batches []lab.BatchID, targets func(*T) []any) ([]T, error) {
	if len(batches) == 0 {
		return nil, t.failed
	}
	list, err := t.dialect.list(words(batches))
	if err != nil {
		return nil, t.fail(err)
	}
	return collect(ctx, t, fmt.Sprintf(text, t.dialect.among("n.batch", "$1")), []any{list}, targets)
}

// stamp reads a time with its exactness behind it, "" if there is none.
type stamp struct{ when *lab.When }

// Scan implements sql.Scanner.
func (s stamp) Scan(stored any) error {
	typed, err := storedText(stored)
	*s.when = lab.When{}
	if err != nil || typed == "" {
		return err
	}
	if len(typed) < len(timeForm) {
		return fmt.Errorf("%q is no time", typed)
	}
	s.when.Exactness = lab.Exactness(typed[len(timeForm):])
	s.when.Time, err = time.Parse(timeForm, typed[:len(timeForm)])
	return err
}

// stageAt reads a stage by its place in lab.Stages, from 1.
type stageAt struct{ stage *lab.Stage }

// Scan implements sql.Scanner.
func (s stageAt) Scan(stored any) error {
	place, ok := stored.(int64)
	if n, isInt32 := stored.(int32); isInt32 {
		place, ok = int64(n), true
	}
	if !ok || place < 1 || int(place) > len(lab.Stages) {
		return fmt.Errorf("%v is no place of a stage", stored)
	}
	*s.stage = lab.Stages[place-1]
	return nil
}
