-- How many pins or aborts were counted on a jar, and where jars stand, to be
-- found by the shelf.

-- +goose Up
ALTER TABLE seen ADD COLUMN counted BIGINT NOT NULL DEFAULT 0 CHECK (counted >= 0);
CREATE INDEX jar_now_shelf ON jar_now (shelf, fate);
