-- How often each head, shaft and grip was chosen for a new club, by month.
SELECT part.1, part.2, month, count()
FROM
(
	SELECT arrayJoin([('head', t.head), ('shaft', t.shaft), ('grip', t.grip)]) AS part, formatDateTime(v.at, '%Y-%m') AS month
	FROM (SELECT studio, session, trial, at FROM verdicts FINAL WHERE live AND kind = 'build' AND {{.Choice}}) AS v
	INNER JOIN
	(
		SELECT studio, session, trial, any(build_head_model) AS head, any(build_shaft_model) AS shaft, any(build_grip_model) AS grip
		FROM trials FINAL WHERE {{.Where}} GROUP BY studio, session, trial
	) AS t ON t.studio = v.studio AND t.session = v.session AND t.trial = v.trial
)
WHERE part.2 != '' GROUP BY part.1, part.2, month ORDER BY part.1, part.2, month
