-- Did heavier or lighter shafts go with tighter direction, swing by swing speed?
-- Each trial against the gamer of its session and level, grouped by how much heavier
-- its shaft was and by the player's speed with the gamer. A description, not an
-- effect: whoever was given a heavier shaft was chosen for it, other parts changed too,
-- and the gamer is mostly hit first and cold, so that any build looks tighter: a change
-- of nothing reads several percent below zero. So there is no interval here; one would
-- promise what this can't know. `fairlead fleet effects` takes all of it into account.
--
-- For: analysts, as a first look
-- Parameters:
--   category (String): club category
-- Columns:
--   speed_band                clubhead speed with the gamer, band of 5 m/s: its lower end, m/s
--   shaft_change_g            shaft weight less the gamer's, to the nearest 10 g
--   trials                    trials
--   players                   players
--   direction_change_percent  change of the spread of direction, percent, weighted by precision
--   shots_after_gamer         mean number of shots from the gamer to them: the order that the change has in it
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames&param_category=driver' \
--     --data-binary @dashboards/queries/shaft_weight_and_direction.sql
WITH gamer AS
(
    SELECT studio, session, level, avg(build_shaft_weight_kg) AS shaft, avg(clubhead_speed_mean_mps) AS speed, avg(first_shot_order) AS first_order,
        sum(direction_ln / direction_ln_var) / sum(1 / direction_ln_var) AS ln, 1 / sum(1 / direction_ln_var) AS variance
    FROM trial_rows
    WHERE category = {category:String} AND gamer AND consent AND NOT minor AND isNotNull(direction_ln)
    GROUP BY studio, session, level
)
SELECT * EXCEPT (change) FROM
(
SELECT 5 * floor(g.speed / 5) AS speed_band,
    toInt32(10 * round(100 * (t.build_shaft_weight_kg - g.shaft))) AS shaft_change_g,
    count() AS trials, uniqExact(t.player) AS players,
    sum((t.direction_ln - g.ln) / (t.direction_ln_var + g.variance)) / sum(1 / (t.direction_ln_var + g.variance)) AS change,
    round(100 * (exp(change) - 1), 1) AS direction_change_percent,
    round(avg(t.first_shot_order - g.first_order), 1) AS shots_after_gamer
FROM trial_rows AS t
INNER JOIN gamer AS g ON g.studio = t.studio AND g.session = t.session AND g.level = t.level
WHERE t.category = {category:String} AND NOT t.gamer AND t.consent AND NOT t.minor AND isNotNull(t.direction_ln)
    AND isNotNull(g.shaft) AND isNotNull(t.build_shaft_weight_kg) AND isNotNull(g.speed)
GROUP BY speed_band, shaft_change_g
)
ORDER BY speed_band, shaft_change_g
