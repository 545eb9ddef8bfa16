-- The shots of a trial, those left out too.
SELECT toString(shot_id), order_session, at, status, reason, clubhead_speed_mps, ball_speed_mps, launch_angle_deg, spin_rate_rpm,
    landing_carry_m, landing_offline_m, direction_deg
FROM shots_all WHERE studio = {studio:String} AND bay = {bay:String} AND session = {session:String} AND trial = {trial:String}
    AND effective BETWEEN toDateTime64({from:String}, 9, 'UTC') AND toDateTime64({to:String}, 9, 'UTC')
ORDER BY order_session, at
