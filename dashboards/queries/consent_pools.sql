-- How much may teach across players? By category: players, sessions, trials and
-- shots whose players agreed to pooling, and what stays out. Fleet questions read
-- the pooled part only; minors are counted apart, whatever they agreed to.
--
-- For: analysts, data protection
-- Columns:
--   category           club category
--   pooled_players     players who agreed, of age
--   pooled_sessions    their sessions
--   pooled_trials      their trials
--   pooled_shots       their shots that count
--   comparable_trials  their trials on a level with two builds or more
--   minor_players      minors
--   withheld_players   players of age who did not agree
--   withheld_shots     shots of theirs and of minors
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames' \
--     --data-binary @dashboards/queries/consent_pools.sql
SELECT category,
    uniqExactIf(player, consent AND NOT minor) AS pooled_players,
    uniqExactIf(session, consent AND NOT minor) AS pooled_sessions,
    countIf(consent AND NOT minor) AS pooled_trials,
    sumIf(n, consent AND NOT minor) AS pooled_shots,
    countIf(consent AND NOT minor AND first_build != last_build) AS comparable_trials,
    uniqExactIf(player, minor) AS minor_players,
    uniqExactIf(player, NOT consent AND NOT minor) AS withheld_players,
    sumIf(n, NOT consent OR minor) AS withheld_shots
FROM
(
    SELECT category, player, session, consent, minor, n,
        min(build) OVER (PARTITION BY studio, session, level) AS first_build,
        max(build) OVER (PARTITION BY studio, session, level) AS last_build
    FROM trial_rows
)
GROUP BY category
ORDER BY category
