-- Why a part of a trial was hit: what was drawn by lot is evidence of another kind than
-- what somebody chose. choice is '' where nobody said, chance 0 where nothing was drawn,
-- offered the number of clubs that it was among.
ALTER TABLE trials ADD COLUMN IF NOT EXISTS choice LowCardinality(String);
ALTER TABLE trials ADD COLUMN IF NOT EXISTS chance Float64 CODEC(ZSTD(1));
ALTER TABLE trials ADD COLUMN IF NOT EXISTS offered UInt8;
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS choice LowCardinality(String);
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS chance Float64 CODEC(ZSTD(1));
