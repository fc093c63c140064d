-- Jars on which two people wrote what can hardly both hold, kept with what
-- else the entries come to, so that they are found without reading them all.

-- +goose Up
ALTER TABLE jar_now ADD COLUMN differs BOOLEAN NOT NULL DEFAULT FALSE;
CREATE INDEX jar_now_differs ON jar_now (batch) WHERE differs;
