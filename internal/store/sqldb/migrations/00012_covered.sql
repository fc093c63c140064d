-- How much of a jar's surface was covered, per cent.

-- +goose Up
ALTER TABLE seen ADD COLUMN covered BIGINT NOT NULL DEFAULT 0 CHECK (covered >= 0 AND covered <= 100);
