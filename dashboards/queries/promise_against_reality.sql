-- Do verdicts keep what they promise? Over all delivered clubs that were hit again:
-- what was promised, what came of it, and how often reality fell into the promised
-- range. Promised above measured is the winner's curse: the build that looked best
-- was partly lucky. `fairlead fleet` fits the same with errors and players in it.
--
-- For: analysts, heads of fitting
-- Columns:
--   category        club category
--   outcome         what was promised, see trial_outcomes
--   compared        whether the gamer was hit beside the delivered club, or on an earlier day
--   checks          checked promises
--   players         players
--   promised        mean promised change, candidate less gamer, in the outcome's unit
--   measured        mean measured change
--   shortfall       promised less measured
--   shortfall_se    its standard error over checks; NULL below two
--   inside_percent  share of measured changes within the promised range, percent
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames' \
--     --data-binary @dashboards/queries/promise_against_reality.sql
SELECT category, outcome, compared, count() AS checks, uniqExact(player) AS players,
    round(avg(promises_checked.promised), 3) AS promised,
    round(avg(promises_checked.measured), 3) AS measured,
    round(avg(promises_checked.promised - promises_checked.measured), 3) AS shortfall,
    if(count() > 1, round(stddevSamp(promises_checked.promised - promises_checked.measured) / sqrt(count()), 3), NULL) AS shortfall_se,
    round(100 * countIf(inside = 1) / count(), 1) AS inside_percent
FROM promises_checked
WHERE isNotNull(promises_checked.measured)
GROUP BY category, outcome, compared
ORDER BY category, outcome, compared
