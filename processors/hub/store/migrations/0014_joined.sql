-- Players of two studios who agreed to be told of as one, as a snapshot has them:
-- player is a studio's pseudonym, joined what rows of the snapshot have in its stead.
CREATE TABLE IF NOT EXISTS fleet_joins
(
    snapshot UInt64,
    player   String,
    joined   String
)
ENGINE = MergeTree
PARTITION BY snapshot
ORDER BY (player, joined);

-- Which of them a snapshot was made with; empty: none.
ALTER TABLE fleet_snapshots ADD COLUMN IF NOT EXISTS joins String DEFAULT '';
