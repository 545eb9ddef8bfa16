-- How did a player come along, year over year, category by category? Spreads are
-- pooled within trials, so that a change of club does not look like a loss of control.
--
-- For: fitters before a visit
-- Parameters:
--   player (String): the player's pseudonymous id
-- Columns:
--   category            club category
--   year                year of the trials, UTC
--   visits              visits
--   trials              trials with shots
--   shots               shots that count
--   clubhead_speed_mps  mean clubhead speed, m/s; NULL where no device gave it
--   carry_m             mean carry, m
--   direction_sd_deg    standard deviation of direction within trials, degrees
--   carry_sd_percent    standard deviation of carry within trials, percent of carry
--   speed_change_mps    mean clubhead speed less that of the year before with shots, m/s
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames&param_player=p-ada' \
--     --data-binary @dashboards/queries/player_years.sql
SELECT category, toYear(first_shot) AS year,
    uniqExact(visit) AS visits,
    count() AS trials,
    sum(n) AS shots,
    round(sum(clubhead_speed_mean_mps * clubhead_speed_n) / nullIf(sumIf(clubhead_speed_n, isNotNull(clubhead_speed_mean_mps)), 0), 2) AS clubhead_speed_mps,
    round(sum(carry_mean_m * n_landing) / nullIf(sum(n_landing), 0), 1) AS carry_m,
    round(sqrt(sum(direction_ss_deg2) / nullIf(sum(greatest(n_directed, 1) - 1), 0)), 2) AS direction_sd_deg,
    round(sqrt(sumIf(scatter_cc_m2 * 10000 / pow(carry_mean_m, 2), carry_mean_m > 0) / nullIf(sum(greatest(n_landing, 1) - 1), 0)), 2) AS carry_sd_percent,
    round(clubhead_speed_mps - lagInFrame(clubhead_speed_mps) OVER (PARTITION BY category ORDER BY year ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW), 2) AS speed_change_mps
FROM trial_rows
WHERE player = {player:String} AND class = 'full' AND intent = 'normal'
GROUP BY category, year
ORDER BY category, year
