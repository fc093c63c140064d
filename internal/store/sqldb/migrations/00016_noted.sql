-- Notes are few, and so are corrections: chores that leave a note, and what was
-- corrected since, are found without reading all that was seen of a jar. What
-- was entered in a round is found by when it was. How many open jars stand on
-- each shelf is read from an index alone.

-- +goose Up
CREATE INDEX seen_note ON seen (note, jar) WHERE note <> '';
CREATE INDEX seen_corrects ON seen (corrects) WHERE corrects IS NOT NULL;
CREATE INDEX deed_entered ON deed (entered);
DROP INDEX jar_now_open;
CREATE INDEX jar_now_open ON jar_now (batch, shelf) WHERE blank = FALSE AND fate IN ('', 'growing');
