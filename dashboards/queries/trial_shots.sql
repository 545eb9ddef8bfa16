-- Every shot behind a trial, those that were set aside too, in the order hit: the
-- drill-down from a number to the swings that made it.
--
-- For: fitters, analysts
-- Parameters:
--   trial (String): the trial's id
-- Columns:
--   order_trial         place within the trial, from 1; 0 for what has none
--   at                  when it was hit, UTC
--   status              counts, or why it does not
--   reason              the fitter's or the program's reason
--   swap                shots since the club was changed, from 1
--   clubhead_speed_mps  clubhead speed, m/s
--   ball_speed_mps      ball speed, m/s
--   launch_angle_deg    launch angle, degrees
--   spin_rate_rpm       total spin, rpm
--   carry_m             carry, m, measured or else computed
--   carry_from          measured, device, ours or unstated
--   offline_m           offline where it landed, m, positive right of the target
--   direction_deg       direction of the landing point, degrees, positive right
--   strike_x_m          strike from the face's centre, m, positive toward the toe
--   strike_y_m          the same, m, positive up
--   line                file and line of the device's output, to check against
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames&param_trial=t-ada-long' \
--     --data-binary @dashboards/queries/trial_shots.sql
SELECT order_trial, at, status, reason, swap,
    round(clubhead_speed_mps, 2) AS clubhead_speed_mps,
    round(ball_speed_mps, 2) AS ball_speed_mps,
    round(launch_angle_deg, 1) AS launch_angle_deg,
    round(spin_rate_rpm) AS spin_rate_rpm,
    round(landing_carry_m, 1) AS carry_m,
    carry_from,
    round(landing_offline_m, 1) AS offline_m,
    round(direction_deg, 2) AS direction_deg,
    round(strike_x_m, 4) AS strike_x_m,
    round(strike_y_m, 4) AS strike_y_m,
    concat(file, ':', toString(s.line)) AS line
FROM shots_all AS s
WHERE trial = {trial:String}
ORDER BY at, seq
