-- Which builds were mishit how often? A shot counts as a mishit where the strike is
-- farther from the face's centre than the bound, or, without a strike, where the
-- smash factor lies more than the drop below the median of its player and build.
-- The interval is Wilson's (J. Am. Stat. Assoc. 22:209, 1927).
--
-- For: fitters, analysts
-- Parameters:
--   category (String): club category: driver, wood, hybrid, iron, wedge
--   strike_m (Float64): distance from the centre that makes a mishit, m
--   drop (Float64): drop of smash factor that makes one
--   least (UInt32): builds with fewer shots are left out
-- Columns:
--   build_name      what the fitter called the build; one of its names where several
--   build           key of the build's whole specification
--   players         players who hit it
--   shots           shots with a strike or a smash factor
--   mishits         mishits among them
--   mishit_percent  their share, percent
--   low_percent     95 % interval, lower end, percent
--   high_percent    upper end, percent
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames&param_category=driver&param_strike_m=0.02&param_drop=0.08&param_least=5' \
--     --data-binary @dashboards/queries/mishits_by_build.sql
WITH
    1.96 AS z,
    judged AS
    (
        SELECT build, player,
            if(isNotNull(strike_x_m) AND isNotNull(strike_y_m), sqrt(pow(strike_x_m, 2) + pow(strike_y_m, 2)) > {strike_m:Float64},
                smash_factor < quantileExact(0.5)(smash_factor) OVER (PARTITION BY player, build) - {drop:Float64}) AS missed
        FROM shots
        WHERE category = {category:String} AND class = 'full'
    )
SELECT any(names.name) AS build_name, j.build AS build, uniqExact(j.player) AS players, count(missed) AS shots, countIf(missed = 1) AS mishits,
    round(100 * mishits / shots, 1) AS mishit_percent,
    round(100 * greatest(0, (mishits / shots + z * z / (2 * shots) - z * sqrt(mishits / shots * (1 - mishits / shots) / shots + z * z / (4 * shots * shots))) / (1 + z * z / shots)), 1) AS low_percent,
    round(100 * least(1, (mishits / shots + z * z / (2 * shots) + z * sqrt(mishits / shots * (1 - mishits / shots) / shots + z * z / (4 * shots * shots))) / (1 + z * z / shots)), 1) AS high_percent
FROM judged AS j
LEFT JOIN (SELECT build, any(build_name) AS name FROM trial_rows GROUP BY build) AS names ON names.build = j.build
WHERE isNotNull(missed)
GROUP BY j.build
HAVING shots >= {least:UInt32}
ORDER BY mishit_percent, build_name, build
