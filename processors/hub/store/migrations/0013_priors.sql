-- Answers of a head office's fleet, as it gave them to this studio: what a change of
-- build is expected to do where more players than the studio's own stand behind it.
-- Kept as they came, so that a studio that is cut off goes on with the last. The row
-- with question 'state' says how the last asking went.
CREATE TABLE IF NOT EXISTS fleet_priors
(
    id            String,
    question      String,
    model         LowCardinality(String),
    category      LowCardinality(String),
    outcome       LowCardinality(String),
    office        LowCardinality(String),
    players       UInt64,
    studios       UInt64,
    answered      DateTime64(3, 'UTC'),
    mark_inserted DateTime64(3, 'UTC'),
    received      DateTime64(3, 'UTC'),
    signed        String CODEC(ZSTD(1)),
    body          String CODEC(ZSTD(3))
)
ENGINE = ReplacingMergeTree(received)
ORDER BY (question, id);
