-- What analysts ask: the latest version of every row, in words, with the
-- spreads that an analysis begins with. Views hold nothing of their own; each
-- may be replaced by a later step. Units stand in the names: _m, _deg, _rpm,
-- _mps, _s, _kg; _ln is a natural logarithm; _n counts shots. Directions are
-- positive right of the target; handed_ columns are the same seen in a mirror
-- for left-handers (positive = right for a right-hander, left for a
-- left-hander) and NULL where the hand is not known. Every column is described
-- in dashboards/queries/README.md, and a test holds that table to this file.

-- shots_all: every entry once, whatever became of it; status says what. Where
-- the device gave no carry, landing_ columns fall back on what we computed.
--   …_from   origin of the main fields: measured (by the device), device
--            (computed by it), ours (computed by Fairlead), unstated, or empty
--            where there is no value
--   carry_air  adjusted (to standard air, by the device), as flown, unstated, or empty
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
FROM entries FINAL;

-- shots: those that count, each once: the player's own swings in a trial,
-- neither excluded nor practice nor a repeat nor a second device's view.
CREATE OR REPLACE VIEW shots
AS
SELECT * FROM shots_all WHERE status = 'counts';

-- trial_rows: trials that have shots, one row a part (an instruction splits a
-- trial), with means, standard deviations (divisor n−1) and log spreads.
--   area_ln       ½ ln|A| − ψ(n−2): ln of √|Σ| in m², without bias; A is the
--                 scatter matrix of carry and offline (Anderson, An Introduction
--                 to Multivariate Statistical Analysis, 2003, §7.5)
--   area_ln_var   ψ′(n−2), exact for normal shots
--   direction_ln  ½ ln(Σr²/2) − ½ψ((n−1)/2): ln of the sd in degrees; its
--                 variance ¼ψ′((n−1)/2); carry_ln the same in percent of carry
-- ψ and ψ′ at whole and half numbers are sums of reciprocals (Abramowitz and
-- Stegun, Handbook of Mathematical Functions, 1964, 6.3.2, 6.3.4, 6.4.3, 6.4.5);
-- digamma and trigamma take twice their argument, a whole number. Spreads are
-- NULL where too few shots or no scatter give no logarithm; models take them
-- from five shots on.
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

    n, n_excluded, n_set_aside, n_landing, n_directed,
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
    FROM trials FINAL
    WHERE n > 0
) AS t;

-- trial_outcomes: the long form of trial_rows, one row a part and outcome that
-- it gives, with the outcome's sampling variance: what verdicts promise and
-- models explain. unit: deg, rpm, m/s, m, or ln for the logarithm of a spread
-- (a difference of 0.1 is about 10 %). distance_control is carry in percent, a
-- putter's ball speed in percent; area is that of percent times degrees, turned
-- from m² with the mean carry.
CREATE OR REPLACE VIEW trial_outcomes
AS
WITH
    arrayJoin([
        tuple('launch', 'deg', launch_angle_mean_deg, pow(launch_angle_sd_deg, 2) / greatest(launch_angle_n, 1)),
        tuple('spin', 'rpm', spin_rate_mean_rpm, pow(spin_rate_sd_rpm, 2) / greatest(spin_rate_n, 1)),
        tuple('ball_speed', 'm/s', ball_speed_mean_mps, pow(ball_speed_sd_mps, 2) / greatest(ball_speed_n, 1)),
        tuple('carry', 'm', carry_mean_m, pow(carry_sd_m, 2) / greatest(n_landing, 1)),
        tuple('landing', 'deg', landing_angle_mean_deg, pow(landing_angle_sd_deg, 2) / greatest(landing_angle_n, 1)),
        tuple('direction', 'ln', direction_ln, direction_ln_var),
        tuple('distance_control', 'ln',
            if(category = 'putter', log(nullIf(100 * ball_speed_sd_mps / nullIf(ball_speed_mean_mps, 0), 0)), carry_ln),
            if(category = 'putter', if(ball_speed_n >= 2, 1 / (2 * (greatest(ball_speed_n, 2) - 1)), NULL), carry_ln_var)),
        tuple('area', 'ln', area_ln - log(nullIf(carry_mean_m * carry_mean_m * pi() / 18000, 0)), area_ln_var)
    ]) AS o
SELECT studio, bay, session, trial, part, player, category, build, gamer, level, last_shot, n,
    o.1 AS outcome, o.2 AS unit, o.3 AS value, o.4 AS variance
FROM trial_rows
WHERE isNotNull(o.3);

-- verdicts_live: what was decided and not taken back, one row a verdict; its
-- promises stand as arrays, one element an outcome (see promises_checked for
-- one row each).
CREATE OR REPLACE VIEW verdicts_live
AS
SELECT studio, bay, id, visit, session, player, category, kind, trial, baseline, build, words, at,
    promised.outcome AS promised_outcome, promised.change AS promised_change, promised.low AS promised_low,
    promised.high AS promised_high, promised.probability_better AS promised_probability_better, checked, check_trial
FROM verdicts FINAL
WHERE live;

-- promises_checked: each promise of a verdict whose club was hit again after
-- delivery, and what came of it. Promised and measured are candidate less
-- incumbent, in the unit of trial_outcomes.
--   compared  'same session' where the incumbent was hit beside the delivered
--             club, on one level; 'earlier session': the verdict's own baseline
--             stands in, and what else changed between the days is in it
--   measured  NULL where the trials do not give the outcome (strike needs the
--             single shots and is never filled); compared is then empty
--   se        of measured, from the scatter of both trials
-- Of a trial in parts the one with most shots is taken.
CREATE OR REPLACE VIEW promises_checked
AS
WITH
    -- the sessions to look into: that of the verdict and that of the hit check
    asked AS
    (
        SELECT v.studio AS studio, v.id AS id, v.check_trial AS check_trial, v.baseline AS baseline,
            arrayJoin(arrayDistinct([v.session, t.session])) AS session
        FROM verdicts_live AS v
        LEFT JOIN
        (
            SELECT studio, trial, any(session) AS session FROM trials
            WHERE trial IN (SELECT check_trial FROM verdicts_live WHERE checked) GROUP BY studio, trial
        ) AS t ON t.studio = v.studio AND t.trial = v.check_trial
        WHERE v.checked
    ),
    found AS
    (
        SELECT a.studio AS studio, a.id AS id, o.outcome AS outcome,
            groupArray(tuple(o.trial, o.session, o.level, o.build, o.last_shot, o.value, o.variance)) AS trials,
            arrayFirst(x -> x.1 = a.check_trial, trials) AS hit,
            arrayFirst(x -> x.1 = a.baseline, trials) AS before,
            -- the incumbent beside the delivered club: the last of its trials there
            arrayReverseSort(x -> x.5, arrayFilter(x -> x.2 = hit.2 AND x.3 = hit.3 AND x.4 = before.4 AND x.1 != hit.1, trials))[1] AS beside,
            if(beside.1 != '', beside, before) AS against,
            multiIf(hit.1 = '' OR against.1 = '', '', beside.1 != '', 'same session', 'earlier session') AS compared,
            if(compared = '', NULL, hit.6 - against.6) AS measured,
            if(compared = '', NULL, sqrt(hit.7 + against.7)) AS se
        FROM
        (
            SELECT * FROM trial_outcomes WHERE session IN (SELECT session FROM asked)
            ORDER BY n DESC, part LIMIT 1 BY studio, session, trial, outcome
        ) AS o
        INNER JOIN asked AS a ON a.studio = o.studio AND a.session = o.session
        GROUP BY a.studio, a.id, a.check_trial, a.baseline, o.outcome
    )
SELECT v.studio AS studio, v.bay AS bay, v.id AS verdict, v.visit AS visit, v.player AS player, v.category AS category,
    v.build AS build, v.trial AS trial, v.baseline AS baseline, v.check_trial AS check_trial, v.at AS decided,
    v.kept.1 AS outcome, v.kept.2 AS promised, v.kept.3 AS promised_low, v.kept.4 AS promised_high,
    v.kept.5 AS promised_probability_better, f.compared AS compared, f.measured AS measured, f.se AS se,
    f.measured BETWEEN v.kept.3 AND v.kept.4 AS inside
FROM
(
    SELECT *, arrayJoin(arrayZip(promised_outcome, promised_change, promised_low, promised_high, promised_probability_better)) AS kept
    FROM verdicts_live WHERE checked
) AS v
LEFT JOIN found AS f ON f.studio = v.studio AND f.id = v.id AND f.outcome = v.kept.1;

-- bay_days: what a bay did on a day (UTC), for staffing, upkeep and trends.
--   store_delay_ columns: seconds from a line's receipt in the bay to its row in
--   the store, over rows that were never moved; a row that was written again for
--   another reason counts with its last writing
CREATE OR REPLACE VIEW bay_days
AS
SELECT studio, bay, toDate(at) AS day,
    count() AS entries,
    countIf(status = 'counts') AS shots,
    countIf(status = 'excluded') AS excluded,
    countIf(status IN ('practice', 'no_ball')) AS practice,
    countIf(status = 'other_hitter') AS other_hitter,
    countIf(status IN ('nobody', 'paused')) AS nobodys,
    countIf(status IN ('repeat', 'superseded', 'paired')) AS repeats,
    countIf(status = 'deleted') AS withdrawn,
    countIf(status = 'rejected') AS rejected,
    countIf(moved) AS moved_shots,
    countIf(certainty = 'unsure') AS unsure_times,
    uniqExactIf(session, status = 'counts') AS sessions,
    uniqExactIf(trial, status = 'counts') AS trials,
    uniqExactIf(player, status = 'counts') AS players,
    min(at) AS first_entry,
    max(at) AS last_entry,
    quantileExactIf(0.5)((toUnixTimestamp64Milli(inserted) - intDiv(toUnixTimestamp64Nano(received), 1000000)) / 1000, NOT moved) AS store_delay_median_s,
    quantileExactIf(0.99)((toUnixTimestamp64Milli(inserted) - intDiv(toUnixTimestamp64Nano(received), 1000000)) / 1000, NOT moved) AS store_delay_p99_s
FROM shots_all
GROUP BY studio, bay, day;
