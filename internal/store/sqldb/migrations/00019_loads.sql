-- What stood in a cook is counted from the index alone: a list of cooks counts
-- thousands of jars.

-- +goose Up
DROP INDEX jar_now_cook;
CREATE INDEX jar_now_cook ON jar_now (cook, batch, blank);
