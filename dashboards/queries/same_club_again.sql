-- What does the order within a session do by itself? Wherever the gamer was hit
-- twice on one level, the later trial less the first: warm-up, fatigue and getting
-- used to the bay, with no change of club. Nought would mean that order may be ignored.
--
-- For: analysts, before trusting a comparison
-- Columns:
--   category                  club category
--   sessions                  sessions in which the gamer was hit again
--   players                   players among them
--   shots_between             mean number of shots between the two trials' first shots
--   speed_change_mps          mean change of clubhead speed, m/s; NULL where not measured
--   speed_se_mps              its standard error over sessions, m/s; NULL below two
--   carry_change_m            mean change of carry, m
--   carry_se_m                its standard error, m
--   direction_change_percent  mean change of the spread of direction, percent
--   direction_se_percent      its standard error, in percent points of a logarithm
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames' \
--     --data-binary @dashboards/queries/same_club_again.sql
SELECT category, count() AS sessions, uniqExact(player) AS players,
    round(avg(later.1 - first.1), 1) AS shots_between,
    round(avg(later.2 - first.2), 2) AS speed_change_mps,
    if(count() > 1, round(stddevSamp(later.2 - first.2) / sqrt(count(later.2 - first.2)), 2), NULL) AS speed_se_mps,
    round(avg(later.3 - first.3), 1) AS carry_change_m,
    if(count() > 1, round(stddevSamp(later.3 - first.3) / sqrt(count(later.3 - first.3)), 1), NULL) AS carry_se_m,
    round(100 * (exp(avg(later.4 - first.4)) - 1), 1) AS direction_change_percent,
    if(count() > 1, round(100 * stddevSamp(later.4 - first.4) / sqrt(count(later.4 - first.4)), 1), NULL) AS direction_se_percent
FROM
(
    SELECT any(category) AS category, any(player) AS player,
        argMin(tuple(first_shot_order, clubhead_speed_mean_mps, carry_mean_m, direction_ln), first_shot_order) AS first,
        argMax(tuple(first_shot_order, clubhead_speed_mean_mps, carry_mean_m, direction_ln), first_shot_order) AS later
    FROM trial_rows
    WHERE gamer AND n >= 3 AND intent = 'normal' AND class = 'full'
    GROUP BY studio, session, level, build
    HAVING count() > 1
)
GROUP BY category
ORDER BY category
