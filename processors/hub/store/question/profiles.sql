-- Profiles as package profile computes them, from the moments of one trial a player
-- and category: means of at least profile.MinShots shots, handed, moved to the
-- category's reference build by profile.Effects. The strike's scatter is taken as
-- round or not by its two axes alone, since moments hold no covariance; ψ and ψ′
-- enter by their asymptotic series, good to 1e-4 from three degrees on. trait_errors are
-- the variances of the traits' errors, in the order of fleet.TraitNames.
WITH
	f -> indexOf(fields.field, f) AS place_of,
	f -> if(fields.n[place_of(f)] >= {{.LeastShots}}, arrayElementOrNull(fields.mean, place_of(f)), NULL) AS mean_of,
	f -> if(fields.n[place_of(f)] >= {{.LeastShots}}, greatest(arrayElementOrNull(fields.ss, place_of(f)) / (fields.n[place_of(f)] - 1), {{.Resolution}}), NULL) AS variance_of,
	f -> variance_of(f) / fields.n[place_of(f)] AS error_of,
	x -> multiIf(hand = 'left', -x, hand = 'right', x, NULL) AS handed,
	variance_of({{field "STRIKE_X"}}) AS vx, variance_of({{field "STRIKE_Y"}}) AS vy, toFloat64(least(fields.n[place_of({{field "STRIKE_X"}})], fields.n[place_of({{field "STRIKE_Y"}})])) - 1 AS m,
	pow(vx + vy, 2) AS trace2, ((vx * vx + vy * vy) - trace2 / m) / (1 + 1 / m - 2 / (m * m)) AS q, trace2 - 2 * q / m AS r,
	if(q <= r / 2, m, m * greatest(1, r / q) / 2) AS h
SELECT toUInt64({{.Snapshot}}) AS snapshot, player, category, studio, bay, session, trial, part, toDateTime64(first_shot, 3, 'UTC') AS measured, n AS shots, hand,
	{{mean "CLUBHEAD_SPEED"}} + {{shift "speed"}} AS speed_mps,
	{{mean "ATTACK_ANGLE"}} + {{shift "attack"}} AS attack_deg,
	handed({{mean "CLUB_PATH"}}) AS path_deg,
	handed(coalesce({{mean "FACE_TO_PATH"}}, {{mean "FACE_ANGLE"}} - {{mean "CLUB_PATH"}})) + {{shift "face_to_path"}} AS face_to_path_deg,
	{{mean "DYNAMIC_LOFT"}} + {{shift "dynamic_loft"}} AS dynamic_loft_deg,
	mean_of({{field "STRIKE_X"}}) AS strike_x_m,
	mean_of({{field "STRIKE_Y"}}) AS strike_y_m,
	log((vx + vy) / 2) / 2 + (1 / (2 * h) + 1 / (12 * h * h) - 1 / (120 * pow(h, 4))) / 2 AS strike_scatter_ln,
	{{mean "TEMPO"}} AS tempo_ratio,
	[error_of({{field "CLUBHEAD_SPEED"}}), error_of({{field "ATTACK_ANGLE"}}), error_of({{field "CLUB_PATH"}}),
		coalesce(error_of({{field "FACE_TO_PATH"}}), error_of({{field "FACE_ANGLE"}}) + error_of({{field "CLUB_PATH"}})), error_of({{field "DYNAMIC_LOFT"}}),
		error_of({{field "STRIKE_X"}}), error_of({{field "STRIKE_Y"}}), (1 / h + 1 / (2 * h * h)) / 4, error_of({{field "TEMPO"}})] AS trait_errors
FROM
(
	SELECT player, category, studio, bay, session, trial, part, first_shot, n, hand, build_length_m, build_loft_deg, build_lie_deg, fields.field, fields.n, fields.mean, fields.ss
	FROM trials FINAL
	WHERE {{.Where}} gamer AND n >= {{.Describing}} AND consent AND NOT minor AND player != ''
	ORDER BY first_shot, part, trial
	LIMIT 1 BY player, category
)
