-- A player may ask to be forgotten. Rows of an erased session keep their place,
-- their times and their journal number, so that nothing counts as missing; their
-- status is erased, or what it was for repeats and refused lines.

ALTER TABLE entries ADD COLUMN IF NOT EXISTS erased Bool DEFAULT false AFTER reason;

-- Who asked, and how far it went: written by fairlead erase before it begins and
-- when it is done. finished is the epoch while something may be left.
CREATE TABLE IF NOT EXISTS erasures
(
    studio   LowCardinality(String),
    player   String,
    asked    DateTime64(3, 'UTC'),
    finished DateTime64(3, 'UTC'),
    who      String,
    sessions Array(String),
    entries  UInt64,
    at       DateTime64(3, 'UTC') DEFAULT now64(3)
)
ENGINE = ReplacingMergeTree(at)
ORDER BY (studio, player);
