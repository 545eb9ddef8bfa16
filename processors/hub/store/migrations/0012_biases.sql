-- How far bays' devices read off, as their checks with the reference club show it, from
-- each check on: the bias of each trait of the swing, in the order of the profiles'
-- columns and not handed, and the variance of its error. Made anew with a snapshot.
CREATE TABLE IF NOT EXISTS fleet_biases
(
    snapshot      UInt64,
    studio        LowCardinality(String),
    bay           LowCardinality(String),
    device        LowCardinality(String),
    at            DateTime64(3, 'UTC'),
    bias          Array(Float64),
    bias_variance Array(Float64)
)
ENGINE = MergeTree
PARTITION BY snapshot
ORDER BY (studio, bay, device, at);

-- What was taken off a profile's traits for it, in their order and handed, and what of
-- trait_errors is its variance; empty: no check of the device from before is known.
ALTER TABLE profiles ADD COLUMN IF NOT EXISTS taken_off Array(Float64);
ALTER TABLE profiles ADD COLUMN IF NOT EXISTS taken_off_errors Array(Float64);
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS taken_off Array(Float64);
