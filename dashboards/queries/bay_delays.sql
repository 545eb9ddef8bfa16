-- How long from a line's receipt in the bay to its row in the store, bay by bay and
-- day by day? Hours mean that a bay was cut off and caught up later: nothing is lost
-- by that, but the live page was behind.
--
-- For: ops
-- Parameters:
--   since (Date): first day that counts, UTC
-- Columns:
--   studio          studio
--   bay             bay
--   day             day, UTC
--   entries         entries of all kinds
--   shots           shots that count
--   delay_median_s  median delay, s
--   delay_p99_s     99th percentile of the delay, s
--   unsure_times    entries before the bay's first contact with the hub
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames&param_since=2026-01-01' \
--     --data-binary @dashboards/queries/bay_delays.sql
SELECT studio, bay, day, entries, shots,
    round(store_delay_median_s, 3) AS delay_median_s,
    round(store_delay_p99_s, 3) AS delay_p99_s,
    unsure_times
FROM bay_days
WHERE day >= {since:Date}
ORDER BY studio, bay, day
