-- The models of head and shaft of a snapshot's trials: players of many studios hit
-- the same ones, and what a model does beyond its figures is estimated as its own.

ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS head LowCardinality(String);
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS shaft LowCardinality(String);
