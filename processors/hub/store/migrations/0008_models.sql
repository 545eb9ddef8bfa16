-- The models of head and shaft of a snapshot's trials: players of many studios hit
-- the same ones, and what a model does beyond its figures is estimated as its own.

ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS head LowCardinality(String);
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS shaft LowCardinality(String);

-- The variances of a profile's errors, in the order of its traits: a trait is measured
-- from a few shots, and effects that depend on it are larger than they seem.
ALTER TABLE profiles ADD COLUMN IF NOT EXISTS trait_errors Array(Nullable(Float64));
