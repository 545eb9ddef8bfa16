-- Which trials of a session tightened direction against the player's own club?
-- Only trials of one level are compared: same ball, surface, device and setting,
-- and no instruction in between. Several trials with the gamer are pooled by their
-- precision. The interval is that of two normal samples, and is given only where the
-- gamer was hit before and after the trial: a player who hits the gamer first and cold
-- makes any build look tighter. Ten shots seldom decide, so take the odds for a verdict
-- from `fairlead evidence`.
--
-- For: fitters after a visit, analysts
-- Parameters:
--   session (String): the session's id, as in the live page's address
-- Columns:
--   level                   run of comparable trials within the session
--   trial                   trial id
--   build_name              what the fitter called the build
--   n                       shots that count
--   direction_sd_deg        standard deviation of direction, degrees
--   gamer_direction_sd_deg  the same with the gamer, degrees, pooled
--   change_percent          change of the spread of direction against the gamer, percent; negative is tighter
--   low_percent             95 % interval of it, lower end, percent; empty where order stands in the way
--   high_percent            upper end, percent
--   tighter                 1 where the whole interval is below 0; empty without one
--   carry_change_m          mean carry less the gamer's, m
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames&param_session=s-ada-26' \
--     --data-binary @dashboards/queries/trial_against_gamer.sql
WITH gamer AS
(
    SELECT studio, session, level,
        sum(direction_ln / direction_ln_var) / sum(1 / direction_ln_var) AS ln,
        1 / sum(1 / direction_ln_var) AS variance,
        min(first_shot_order) AS earliest, max(first_shot_order) AS latest,
        sqrt(sum(direction_ss_deg2) / sum(n_directed - 1)) AS sd,
        sum(carry_mean_m * n_landing) / sum(n_landing) AS carry
    FROM trial_rows
    WHERE session = {session:String} AND gamer AND isNotNull(direction_ln)
    GROUP BY studio, session, level
)
SELECT * EXCEPT (between) FROM
(
SELECT t.level AS level, t.trial AS trial, t.build_name AS build_name, t.n AS n,
    round(t.direction_sd_deg, 2) AS direction_sd_deg,
    round(g.sd, 2) AS gamer_direction_sd_deg,
    round(100 * (exp(t.direction_ln - g.ln) - 1), 1) AS change_percent,
    g.earliest < t.first_shot_order AND g.latest > t.first_shot_order AS between,
    if(between, round(100 * (exp(t.direction_ln - g.ln - 1.96 * sqrt(t.direction_ln_var + g.variance)) - 1), 1), NULL) AS low_percent,
    if(between, round(100 * (exp(t.direction_ln - g.ln + 1.96 * sqrt(t.direction_ln_var + g.variance)) - 1), 1), NULL) AS high_percent,
    high_percent < 0 AS tighter,
    round(t.carry_mean_m - g.carry, 1) AS carry_change_m
FROM trial_rows AS t
INNER JOIN gamer AS g ON g.studio = t.studio AND g.session = t.session AND g.level = t.level
WHERE t.session = {session:String} AND NOT t.gamer AND isNotNull(t.direction_ln)
)
ORDER BY level, change_percent, trial
