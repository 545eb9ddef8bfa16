-- The last message that the hub saw in each stream of the log: who opens an
-- older copy of the log later is found out.
CREATE TABLE IF NOT EXISTS log_marks
(
    studio LowCardinality(String),
    stream LowCardinality(String),
    seq    UInt64,
    sent   DateTime64(9, 'UTC'),
    at     DateTime64(3, 'UTC') DEFAULT now64(3)
)
ENGINE = ReplacingMergeTree(at)
ORDER BY (studio, stream);
