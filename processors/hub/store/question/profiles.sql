-- Profiles as package profile computes them, from the moments of one trial a player
-- and category: means of at least profile.MinShots shots, handed, moved to the
-- category's reference build by profile.Effects. The strike's scatter is taken as
-- round or not by its two axes alone, since moments hold no covariance; ψ and ψ′
-- enter by their asymptotic series, good to 1e-4 from three degrees on. trait_errors are
-- the variances of the traits' errors, in the order of fleet.TraitNames. What the last
-- check of the device from before, of at most {{.Days}} days, says that it read off is
-- taken off, and the variance of that is one of the trait's error.
WITH
	f -> indexOf(fields.field, f) AS place_of,
	f -> if(fields.n[place_of(f)] >= {{.LeastShots}}, arrayElementOrNull(fields.mean, place_of(f)), NULL) AS mean_of,
	f -> if(fields.n[place_of(f)] >= {{.LeastShots}}, greatest(arrayElementOrNull(fields.ss, place_of(f)) / (fields.n[place_of(f)] - 1), {{.Resolution}}), NULL) AS variance_of,
	f -> variance_of(f) / fields.n[place_of(f)] AS error_of,
	x -> multiIf(hand = 'left', -x, hand = 'right', x, NULL) AS handed,
	known_at >= hit_at - INTERVAL {{.Days}} DAY AND notEmpty(bias) AS known,
	i -> if(known, bias[i], 0.) AS off, i -> if(known, variance[i], 0.) AS off_error,
	variance_of({{field "STRIKE_X"}}) AS vx, variance_of({{field "STRIKE_Y"}}) AS vy, toFloat64(least(fields.n[place_of({{field "STRIKE_X"}})], fields.n[place_of({{field "STRIKE_Y"}})])) - 1 AS m,
	pow(vx + vy, 2) AS trace2, ((vx * vx + vy * vy) - trace2 / m) / (1 + 1 / m - 2 / (m * m)) AS q, trace2 - 2 * q / m AS r,
	if(q <= r / 2, m, m * greatest(1, r / q) / 2) AS h
SELECT toUInt64({{.Snapshot}}) AS snapshot, player, category, studio, bay, session, trial, part, hit_at AS measured, n AS shots, hand,
	{{mean "CLUBHEAD_SPEED"}} - off(1) + {{shift "speed"}} AS speed_mps,
	{{mean "ATTACK_ANGLE"}} - off(2) + {{shift "attack"}} AS attack_deg,
	handed({{mean "CLUB_PATH"}} - off(3)) AS path_deg,
	handed(coalesce({{mean "FACE_TO_PATH"}}, {{mean "FACE_ANGLE"}} - {{mean "CLUB_PATH"}}) - off(4)) + {{shift "face_to_path"}} AS face_to_path_deg,
	{{mean "DYNAMIC_LOFT"}} - off(5) + {{shift "dynamic_loft"}} AS dynamic_loft_deg,
	mean_of({{field "STRIKE_X"}}) AS strike_x_m,
	mean_of({{field "STRIKE_Y"}}) AS strike_y_m,
	log((vx + vy) / 2) / 2 + (1 / (2 * h) + 1 / (12 * h * h) - 1 / (120 * pow(h, 4))) / 2 AS strike_scatter_ln,
	{{mean "TEMPO"}} AS tempo_ratio,
	[error_of({{field "CLUBHEAD_SPEED"}}) + off_error(1), error_of({{field "ATTACK_ANGLE"}}) + off_error(2), error_of({{field "CLUB_PATH"}}) + off_error(3),
		coalesce(error_of({{field "FACE_TO_PATH"}}), error_of({{field "FACE_ANGLE"}}) + error_of({{field "CLUB_PATH"}})) + off_error(4),
		error_of({{field "DYNAMIC_LOFT"}}) + off_error(5),
		error_of({{field "STRIKE_X"}}), error_of({{field "STRIKE_Y"}}), (1 / h + 1 / (2 * h * h)) / 4, error_of({{field "TEMPO"}})] AS trait_errors,
	if(known, arrayMap((x, i) -> if(hand = 'left' AND i IN (3, 4), -x, x), bias, arrayEnumerate(bias)), []) AS taken_off, if(known, variance, []) AS taken_off_errors
FROM
(
	SELECT {{.Player}} AS player, category, studio, bay, device, session, trial, part, first_shot, toDateTime64(first_shot, 3, 'UTC') AS hit_at, n, hand, build_length_m, build_loft_deg, build_lie_deg, fields.field, fields.n, fields.mean, fields.ss
	FROM trials FINAL
	WHERE {{.Where}} gamer AND n >= {{.Describing}} AND consent AND NOT minor AND player != ''
	ORDER BY first_shot, part, trial
	LIMIT 1 BY player, category
) AS hit
ASOF LEFT JOIN
(
	SELECT studio AS off_studio, bay AS off_bay, device AS off_device, at AS known_at, bias, bias_variance AS variance FROM fleet_biases
	WHERE snapshot = {{if .Snapshot}}{{.Snapshot}}{{else}}(SELECT max(snapshot) FROM fleet_snapshots){{end}}
) AS checks
ON studio = off_studio AND bay = off_bay AND device = off_device AND hit_at >= known_at
