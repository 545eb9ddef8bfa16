-- What could not be stored or read, and why: rows that the store refused, rows
-- whose entry can't be decoded, messages of the log that are nothing of their
-- bay's. of names where it stood: a table, or a stream of the log.

CREATE TABLE IF NOT EXISTS set_aside
(
    studio LowCardinality(String),
    bay    LowCardinality(String),
    of     LowCardinality(String),
    key    String,
    reason String CODEC(ZSTD(1)),
    at     DateTime64(3, 'UTC') DEFAULT now64(3)
)
ENGINE = ReplacingMergeTree(at)
ORDER BY (studio, bay, of, key);
