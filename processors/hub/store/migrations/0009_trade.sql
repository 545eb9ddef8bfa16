-- What questions of the trade read of a snapshot's trials: the model of the grip, and
-- of putts the ball speed, of which a putter's distance control is judged.

ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS grip LowCardinality(String);
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS roll_n UInt32 CODEC(ZSTD(1));
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS roll_mps Float64 CODEC(ZSTD(1));
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS roll_ss Float64 CODEC(ZSTD(1));
-- A snapshot that is kept for an answer, so that it can be refitted: it is not swept.
CREATE TABLE IF NOT EXISTS fleet_frozen
(
    snapshot UInt64,
    answer   String,
    trials   UInt64,
    at       DateTime64(3, 'UTC') DEFAULT now64(3)
)
ENGINE = ReplacingMergeTree(at)
ORDER BY (snapshot, answer);
