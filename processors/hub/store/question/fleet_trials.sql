-- Rows of trials as fleet_trials has them, those that count, each with its player's
-- profile of the select that is given. What another flight model made of them counts
-- for nothing: they did not land.
WITH
	f -> indexOf(t.fields.field, f) AS place_of,
	f -> arrayElementOrNull(t.fields.mean, place_of(f)) AS mean_of,
	f -> t.fields.ss[place_of(f)] AS ss_of,
	f -> t.fields.n[place_of(f)] AS n_of
SELECT toUInt64({{.Snapshot}}) AS snapshot, t.player AS player, t.category AS category, t.session AS session, t.order_session AS number, t.part AS part,
	t.trial AS trial, t.studio AS studio, t.bay AS bay, t.device AS device, t.fitter AS fitter,
	t.build AS build, t.build_name AS build_name, t.ball_model AS ball, t.surface AS surface, t.instruction AS instruction, t.gamer AS gamer, t.hand = 'left' AS left_handed,
	t.studio = p.studio AND t.session = p.session AND t.trial = p.trial AND t.part = p.part AS describes,
	t.level AS level, t.first_shot_order AS first_order, toDateTime64(t.first_shot, 3, 'UTC') AS at,
	ifNull(t.build_length_m, nan) AS length, ifNull(t.build_loft_deg, nan) AS loft, ifNull(t.build_lie_deg, nan) AS lie, ifNull(t.build_shaft_weight_kg, nan) AS shaft_weight,
	{{flex "t.build_flex"}} AS flex, ifNull(t.build_torque_deg, nan) AS torque, ifNull(t.build_head_weight_kg, nan) AS head_weight, ifNull(t.build_swing_weight_kgm, nan) AS swing_weight,
	t.n AS n, t.n_excluded AS n_excluded, t.n_landing AS n_landing, t.carry_mean_m AS carry_m, t.scatter_cc_m2 AS carry_ss, t.carry_s4_m4 AS carry_s4,
	t.scatter_co_m2 AS carry_offline, t.scatter_oo_m2 AS offline_ss,
	t.n_directed AS n_directed, t.direction_mean_deg AS direction_deg, t.direction_ss_deg2 AS direction_ss, t.direction_s4_deg4 AS direction_s4,
	toUInt32(least(t.fields.n[place_of({{field "LAUNCH_ANGLE"}})], t.fields.n[place_of({{field "SPIN_RATE"}})])) AS launched,
	ifNull(mean_of({{field "BALL_SPEED"}}), nan) AS ball_speed_mps, ifNull(mean_of({{field "ATTACK_ANGLE"}}), nan) AS attack_now_deg,
	ifNull(mean_of({{field "LAUNCH_ANGLE"}}), nan) AS launch_deg, ss_of({{field "LAUNCH_ANGLE"}}) AS launch_ss, ifNull(mean_of({{field "SPIN_RATE"}}), nan) AS spin_rpm, ss_of({{field "SPIN_RATE"}}) AS spin_ss,
	{{traits}},
	t.build_head_model AS head, t.build_shaft_model AS shaft, t.build_grip_model AS grip,
	if(t.category = 'putter', t.fields.n[place_of({{field "BALL_SPEED"}})], 0) AS roll_n, ifNull(mean_of({{field "BALL_SPEED"}}), 0) AS roll_mps, ss_of({{field "BALL_SPEED"}}) AS roll_ss,
	t.choice AS choice, t.chance AS chance, p.taken_off AS taken_off,
	least(n_of({{field "STRIKE_X"}}), n_of({{field "STRIKE_Y"}})) AS strike_n, ss_of({{field "STRIKE_X"}}) + ss_of({{field "STRIKE_Y"}}) AS strike_ss,
	n_of({{field "CLUBHEAD_SPEED"}}) AS speed_n, ifNull(mean_of({{field "CLUBHEAD_SPEED"}}), 0) AS speed_now_mps, ss_of({{field "CLUBHEAD_SPEED"}}) AS speed_ss,
	n_of({{field "FACE_TO_PATH"}}) AS face_n, ss_of({{field "FACE_TO_PATH"}}) AS face_ss, n_of({{field "CLUB_PATH"}}) AS path_n, ss_of({{field "CLUB_PATH"}}) AS path_ss
FROM
(
	SELECT * REPLACE ({{if ne .Player "player"}}{{.Player}} AS player, {{end}}if({{present}}, n_landing, 0) AS n_landing, if({{present}}, n_directed, 0) AS n_directed) FROM trials FINAL WHERE {{.Where}} n > 0 AND consent AND NOT minor AND player != ''
) AS t
LEFT JOIN ({{.Profiles}}) AS p ON p.player = t.player AND p.category = t.category
