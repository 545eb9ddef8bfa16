-- Do the devices of two bays agree? Wherever one player hit one build in both, the
-- second bay's mean less the first's, over players. A difference beyond twice its
-- standard error is worth a look at alignment, ball and calibration; until then
-- compare trials within a bay only.
--
-- For: ops, analysts
-- Parameters:
--   studio (String): the studio
-- Columns:
--   bay                       first bay
--   other_bay                 second bay
--   pairs                     players and builds hit in both
--   shots                     shots behind them, both bays
--   carry_difference_m        mean carry in the second bay less the first, m
--   carry_se_m                standard error over pairs, m; NULL below two pairs
--   direction_difference_deg  the same of mean direction, degrees, positive right
--   direction_se_deg          standard error, degrees
--   spin_difference_rpm       the same of spin, rpm
--   spin_se_rpm               standard error, rpm
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames&param_studio=harbour-row' \
--     --data-binary @dashboards/queries/bays_against_each_other.sql
WITH means AS
(
    SELECT bay, player, build, sum(n) AS n,
        sum(carry_mean_m * n_landing) / nullIf(sum(n_landing), 0) AS carry,
        sum(direction_mean_deg * n_directed) / nullIf(sum(n_directed), 0) AS direction,
        sum(spin_rate_mean_rpm * spin_rate_n) / nullIf(sum(spin_rate_n), 0) AS spin
    FROM trial_rows
    WHERE studio = {studio:String} AND class = 'full' AND intent = 'normal' AND player != ''
    GROUP BY bay, player, build
)
SELECT a.bay AS bay, b.bay AS other_bay, count() AS pairs, sum(a.n + b.n) AS shots,
    round(avg(b.carry - a.carry), 1) AS carry_difference_m,
    if(count() > 1, round(stddevSamp(b.carry - a.carry) / sqrt(count(b.carry - a.carry)), 1), NULL) AS carry_se_m,
    round(avg(b.direction - a.direction), 2) AS direction_difference_deg,
    if(count() > 1, round(stddevSamp(b.direction - a.direction) / sqrt(count(b.direction - a.direction)), 2), NULL) AS direction_se_deg,
    round(avg(b.spin - a.spin)) AS spin_difference_rpm,
    if(count() > 1, round(stddevSamp(b.spin - a.spin) / sqrt(count(b.spin - a.spin))), NULL) AS spin_se_rpm
FROM means AS a
INNER JOIN means AS b ON b.player = a.player AND b.build = a.build
WHERE a.bay < b.bay
GROUP BY bay, other_bay
ORDER BY bay, other_bay
