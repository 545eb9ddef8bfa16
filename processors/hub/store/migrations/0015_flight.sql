-- Which flight model computed what is ours in a row: flight.Stamp, '' where no model had
-- a part in it. Rows of before this step name none: 'before' where they show that one had.
-- Until they are computed anew (the hub does it by itself, `audit --repair` too), views
-- and the fleet take nothing of them that a model made: figures of two are not one figure.
ALTER TABLE entries ADD COLUMN IF NOT EXISTS flight_model LowCardinality(String)
    DEFAULT if(isNotNull(our_carry_m) OR isNotNull(standard_air_carry_m) AND NOT (isNotNull(carry_m) AND bitTest(air_adjusted, 16)), 'before', '');
ALTER TABLE trials ADD COLUMN IF NOT EXISTS flight_model LowCardinality(String)
    DEFAULT if(n_landing > least(fields.n[indexOf(fields.field, 16)], fields.n[indexOf(fields.field, 18)]), 'before', '');

-- Which model a snapshot of the fleet goes by, and how many of its trials are of another.
ALTER TABLE fleet_snapshots ADD COLUMN IF NOT EXISTS flight_model LowCardinality(String) DEFAULT 'before';
ALTER TABLE fleet_snapshots ADD COLUMN IF NOT EXISTS outdated UInt64 DEFAULT 0;

-- flight_now: the flight model of the program that runs, one row. Each start writes it.
CREATE VIEW IF NOT EXISTS flight_now
AS
SELECT '' AS flight_model;

-- shots_all, shots and trial_rows: as they were, with flight_model, and without what
-- another model made.
CREATE OR REPLACE VIEW shots_all
AS
WITH
    (x, bit) -> multiIf(isNull(x), '', bitTest(measured, bit), 'measured', bitTest(device_computed, bit), 'device', 'unstated') AS origin,
    x -> multiIf(hand = 'left', -x, hand = 'right', x, NULL) AS handed
SELECT
    studio, bay, journal, seq, shot_id, device, device_shot_id, role, feed, file, line,
    device_time, received, effective, certainty, at, inserted, revision, deleted, faults, firmware, device_club,
    status, reason, visit, session, trial, trial_number, part, moved, build, player, fitter, hitter, hitter_kind, hand,
    category, class, class_length_m, intent, instruction, instructions, setting, place, surface, ball_model, ball_class,
    order_trial, order_session, swap, paired_with, consent, minor,

    clubhead_speed_mps, ball_speed_mps, smash_factor, attack_angle_deg, club_path_deg, face_angle_deg, face_to_path_deg,
    dynamic_loft_deg, spin_loft_deg, launch_angle_deg, launch_direction_deg, spin_rate_rpm, spin_axis_deg, back_spin_rpm,
    side_spin_rpm, carry_m, total_m, offline_m, total_offline_m, apex_m, landing_angle_deg, landing_speed_mps, hang_time_s,
    strike_x_m, strike_y_m, dynamic_lie_deg, closure_rate_rpm, swing_direction_deg, swing_plane_deg, low_point_m,
    backswing_time_s, downswing_time_s, tempo, skid_distance_m, forward_roll_rpm, roll_speed_mps, putt_distance_m,
    stroke_length_m, stroke_rotation_deg, stroke_arc_deg, air_temperature_degc, air_pressure_pa, air_humidity,

    direction_deg, our_carry_m, our_offline_m, our_apex_m, our_landing_angle_deg, standard_air_carry_m,
    flight_model,
    -- the landing point as trials take it: both coordinates measured, else both ours
    if(isNull(carry_m) OR isNull(offline_m), our_carry_m, carry_m) AS landing_carry_m,
    if(isNull(carry_m) OR isNull(offline_m), our_offline_m, offline_m) AS landing_offline_m,

    origin(clubhead_speed_mps, 1) AS clubhead_speed_from,
    origin(ball_speed_mps, 2) AS ball_speed_from,
    origin(attack_angle_deg, 4) AS attack_angle_from,
    origin(club_path_deg, 5) AS club_path_from,
    origin(face_angle_deg, 6) AS face_angle_from,
    origin(dynamic_loft_deg, 8) AS dynamic_loft_from,
    origin(launch_angle_deg, 10) AS launch_angle_from,
    origin(launch_direction_deg, 11) AS launch_direction_from,
    origin(spin_rate_rpm, 12) AS spin_rate_from,
    origin(spin_axis_deg, 13) AS spin_axis_from,
    if(isNull(carry_m) AND isNotNull(our_carry_m), 'ours', origin(carry_m, 16)) AS carry_from,
    if(isNull(offline_m) AND isNotNull(our_offline_m), 'ours', origin(offline_m, 18)) AS offline_from,
    if(isNull(apex_m) AND isNotNull(our_apex_m), 'ours', origin(apex_m, 20)) AS apex_from,
    if(isNull(landing_angle_deg) AND isNotNull(our_landing_angle_deg), 'ours', origin(landing_angle_deg, 21)) AS landing_angle_from,
    origin(strike_x_m, 24) AS strike_from,
    multiIf(isNull(carry_m), '', bitTest(air_adjusted, 16), 'adjusted', bitTest(air_as_flown, 16), 'as flown', 'unstated') AS carry_air,

    handed(club_path_deg) AS handed_club_path_deg,
    handed(face_angle_deg) AS handed_face_angle_deg,
    handed(face_to_path_deg) AS handed_face_to_path_deg,
    handed(launch_direction_deg) AS handed_launch_direction_deg,
    handed(spin_axis_deg) AS handed_spin_axis_deg,
    handed(side_spin_rpm) AS handed_side_spin_rpm,
    handed(swing_direction_deg) AS handed_swing_direction_deg,
    handed(total_offline_m) AS handed_total_offline_m,
    handed(direction_deg) AS handed_direction_deg,
    handed(if(isNull(carry_m) OR isNull(offline_m), our_offline_m, offline_m)) AS handed_landing_offline_m
FROM
(
    WITH flight_model IN ('', (SELECT flight_model FROM flight_now)) AS present
    SELECT * REPLACE
        (
            if(present OR isNotNull(carry_m) AND isNotNull(offline_m) OR isNull(our_carry_m), direction_deg, NULL) AS direction_deg,
            if(present, our_carry_m, NULL) AS our_carry_m,
            if(present, our_offline_m, NULL) AS our_offline_m,
            if(present, our_apex_m, NULL) AS our_apex_m,
            if(present, our_landing_angle_deg, NULL) AS our_landing_angle_deg,
            if(present, standard_air_carry_m, NULL) AS standard_air_carry_m
        )
    FROM entries FINAL
);

CREATE OR REPLACE VIEW shots
AS
SELECT * FROM shots_all WHERE status = 'counts';

CREATE OR REPLACE VIEW trial_rows
AS
WITH
    m -> 2 * arraySum(i -> 1 / i, range(2 - m % 2, m, 2)) - if(m % 2 = 0, 0.5772156649015329, 1.9635100260214235) AS digamma,
    m -> if(m % 2 = 0, pi() * pi() / 6, pi() * pi() / 2) - 4 * arraySum(i -> 1 / (toFloat64(i) * i), range(2 - m % 2, m, 2)) AS trigamma,
    x -> multiIf(hand = 'left', -x, hand = 'right', x, NULL) AS handed,
    (ss, k) -> if(k > 1, sqrt(ss / (k - 1)), NULL) AS sd,
    -- ln of the spread of one axis, and its variance
    (ss, k) -> if(k > 1 AND ss > 0, (log(ss / 2) - digamma(greatest(k, 2) - 1)) / 2, NULL) AS axis_ln,
    (ss, k) -> if(k > 1 AND ss > 0, trigamma(greatest(k, 2) - 1) / 4, NULL) AS axis_ln_var,
    f -> indexOf(fields.field, f) AS place_of,
    f -> arrayElementOrNull(fields.mean, place_of(f)) AS mean_of,
    f -> arrayElementOrNull(field_sds, place_of(f)) AS sd_of,
    f -> fields.n[place_of(f)] AS n_of
SELECT
    studio, bay, session, trial, part, visit, player, fitter, hand, category, consent, minor, class, class_length_m, intent,
    build, build_name, gamer,
    build_head_model, build_stated_loft_deg, build_loft_deg, build_lie_deg, build_face_angle_deg, build_bounce_deg, build_sole,
    build_head_weight_kg, build_movable_weights, build_hosel_setting, build_shaft_model, build_shaft_material,
    build_shaft_weight_kg, build_flex, build_torque_deg, build_balance_point_m, build_frequency_cpm, build_tip_trim_m,
    build_butt_trim_m, build_length_m, build_length_method, build_grip_model, build_grip_size_m, build_grip_weight_kg,
    build_grip_wraps, build_swing_weight_kgm, build_total_weight_kg, build_finish, build_face_wear, build_toe_hang_deg,
    build_putter_hosel, build_alignment, build_grip_form,
    device, firmware, place, surface, ball_model, ball_class, setting, instruction, instruction_kind, level,
    order_session, first_shot_order, first_shot, last_shot,

    n, n_excluded, n_set_aside, n_landing, n_directed, flight_model,
    if(n_landing > 0, t.carry_mean_m, NULL) AS carry_mean_m,
    if(n_landing > 0, t.offline_mean_m, NULL) AS offline_mean_m,
    if(n_directed > 0, t.direction_mean_deg, NULL) AS direction_mean_deg,
    sd(scatter_cc_m2, n_landing) AS carry_sd_m,
    sd(scatter_oo_m2, n_landing) AS offline_sd_m,
    sd(direction_ss_deg2, n_directed) AS direction_sd_deg,
    100 * sd(scatter_cc_m2, n_landing) / nullIf(t.carry_mean_m, 0) AS carry_sd_percent,
    if(has_area, scatter_co_m2 / sqrt(scatter_cc_m2 * scatter_oo_m2), NULL) AS carry_offline_correlation,

    if(has_area, log(determinant) / 2 - digamma(2 * greatest(n_landing, 3) - 4), NULL) AS area_ln,
    if(has_area, trigamma(2 * greatest(n_landing, 3) - 4), NULL) AS area_ln_var,
    axis_ln(direction_ss_deg2, n_directed) AS direction_ln,
    axis_ln_var(direction_ss_deg2, n_directed) AS direction_ln_var,
    if(t.carry_mean_m > 0, axis_ln(scatter_cc_m2, n_landing) + log(100 / t.carry_mean_m), NULL) AS carry_ln,
    if(t.carry_mean_m > 0, axis_ln_var(scatter_cc_m2, n_landing), NULL) AS carry_ln_var,
    direction_s4_deg4, carry_s4_m4, scatter_cc_m2, scatter_co_m2, scatter_oo_m2, direction_ss_deg2,

    handed(if(n_landing > 0, t.offline_mean_m, NULL)) AS handed_offline_mean_m,
    handed(if(n_directed > 0, t.direction_mean_deg, NULL)) AS handed_direction_mean_deg,

    mean_of(1) AS clubhead_speed_mean_mps, sd_of(1) AS clubhead_speed_sd_mps, n_of(1) AS clubhead_speed_n,
    mean_of(2) AS ball_speed_mean_mps, sd_of(2) AS ball_speed_sd_mps, n_of(2) AS ball_speed_n,
    mean_of(3) AS smash_factor_mean, sd_of(3) AS smash_factor_sd, n_of(3) AS smash_factor_n,
    mean_of(4) AS attack_angle_mean_deg, sd_of(4) AS attack_angle_sd_deg, n_of(4) AS attack_angle_n,
    mean_of(5) AS club_path_mean_deg, sd_of(5) AS club_path_sd_deg, n_of(5) AS club_path_n,
    mean_of(6) AS face_angle_mean_deg, sd_of(6) AS face_angle_sd_deg, n_of(6) AS face_angle_n,
    mean_of(7) AS face_to_path_mean_deg, sd_of(7) AS face_to_path_sd_deg, n_of(7) AS face_to_path_n,
    mean_of(8) AS dynamic_loft_mean_deg, sd_of(8) AS dynamic_loft_sd_deg, n_of(8) AS dynamic_loft_n,
    mean_of(10) AS launch_angle_mean_deg, sd_of(10) AS launch_angle_sd_deg, n_of(10) AS launch_angle_n,
    mean_of(11) AS launch_direction_mean_deg, sd_of(11) AS launch_direction_sd_deg, n_of(11) AS launch_direction_n,
    mean_of(12) AS spin_rate_mean_rpm, sd_of(12) AS spin_rate_sd_rpm, n_of(12) AS spin_rate_n,
    mean_of(13) AS spin_axis_mean_deg, sd_of(13) AS spin_axis_sd_deg, n_of(13) AS spin_axis_n,
    mean_of(20) AS apex_mean_m, sd_of(20) AS apex_sd_m, n_of(20) AS apex_n,
    mean_of(21) AS landing_angle_mean_deg, sd_of(21) AS landing_angle_sd_deg, n_of(21) AS landing_angle_n,
    mean_of(24) AS strike_x_mean_m, sd_of(24) AS strike_x_sd_m, n_of(24) AS strike_x_n,
    mean_of(25) AS strike_y_mean_m, sd_of(25) AS strike_y_sd_m, n_of(25) AS strike_y_n,
    mean_of(33) AS tempo_mean, sd_of(33) AS tempo_sd, n_of(33) AS tempo_n,
    handed(mean_of(5)) AS handed_club_path_mean_deg,
    handed(mean_of(6)) AS handed_face_angle_mean_deg,
    handed(mean_of(7)) AS handed_face_to_path_mean_deg,
    handed(mean_of(11)) AS handed_launch_direction_mean_deg,
    handed(mean_of(13)) AS handed_spin_axis_mean_deg
FROM
(
    SELECT *,
        scatter_cc_m2 * scatter_oo_m2 - scatter_co_m2 * scatter_co_m2 AS determinant,
        -- shots on one line leave a determinant of rounding errors
        n_landing > 2 AND determinant > 1e-12 * scatter_cc_m2 * scatter_oo_m2 AS has_area,
        arrayMap((ss, k) -> if(k > 1, sqrt(ss / (k - 1)), NULL), fields.ss, fields.n) AS field_sds
    FROM
    (
        WITH flight_model IN ('', (SELECT flight_model FROM flight_now)) AS present
        SELECT * REPLACE (if(present, n_landing, 0) AS n_landing, if(present, n_directed, 0) AS n_directed)
        FROM trials FINAL
        WHERE n > 0
    )
) AS t;
