-- What do the feeds bring that is no shot of a player, and why? Rejected lines show
-- the first fault: a wrong unit or a shifted column in a field map stands out at once.
-- Repeats are harmless and usual after a file was read again.
--
-- For: ops
-- Parameters:
--   since (Date): first day that counts, UTC
-- Columns:
--   studio     studio
--   bay        bay
--   feed       feed of the configuration
--   status     rejected, repeat, superseded, paired, nobody, paused, deleted, …
--   field      field or column of the first fault; empty: none
--   reason     the fault's or the tag's reason
--   entries    entries
--   percent    share of the feed's entries, percent
--   example    one of the refused values
--   last_seen  the latest of them, UTC
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames&param_since=2026-01-01' \
--     --data-binary @dashboards/queries/lines_that_did_not_count.sql
SELECT studio, bay, feed, status,
    JSONExtractString(faults, 1, 'field') AS field,
    if(faults = '', reason, JSONExtractString(faults, 1, 'reason')) AS reason,
    count() AS entries,
    round(100 * entries / any(of_feed), 2) AS percent,
    any(JSONExtractString(faults, 1, 'value')) AS example,
    max(received) AS last_seen
FROM
(
    SELECT *, count() OVER (PARTITION BY studio, bay, feed) AS of_feed
    FROM shots_all
    WHERE toDate(received) >= {since:Date}
)
WHERE status != 'counts'
GROUP BY studio, bay, feed, status, field, reason
ORDER BY studio, bay, feed, entries DESC, status, field, reason
