-- What is decided, category by category: how often a build wins, how often the
-- player keeps the gamer or the set-up was the matter, and how often a delivered
-- club was hit again.
--
-- For: heads of fitting
-- Parameters:
--   since (Date): first day that counts, UTC
-- Columns:
--   category  club category
--   kind      build, keep_gamer, setup, add_club, drop_club, test_again, refer or ball
--   verdicts  verdicts that were not taken back
--   percent   share of the category's verdicts, percent
--   players   players
--   checked   verdicts whose club was hit again after delivery
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames&param_since=2026-01-01' \
--     --data-binary @dashboards/queries/verdicts_by_category.sql
SELECT category, kind, count() AS verdicts,
    round(100 * verdicts / any(of_category), 1) AS percent,
    uniqExact(player) AS players,
    countIf(v.checked) AS checked
FROM
(
    SELECT *, count() OVER (PARTITION BY category) AS of_category FROM verdicts_live WHERE toDate(at) >= {since:Date}
) AS v
GROUP BY category, kind
ORDER BY category, verdicts DESC, kind
