-- Heads, shafts, grips and builds that were tried in sessions that ended with a new
-- club: how often, how often chosen, how often they would have been if all that were
-- tried were alike, and the logarithm of the odds of never then.
SELECT part, model, count() AS tried, countIf(model = taken) AS chosen, sum(1 / k) AS expected, sum(log(1 - least(1 / k, 0.999))) AS none
FROM
(
	SELECT studio, session, part, model, taken, count() OVER (PARTITION BY studio, session, part) AS k
	FROM
	(
		SELECT DISTINCT t.studio AS studio, t.session AS session, p.1 AS part, p.2 AS model, p.3 AS taken
		FROM
		(
			SELECT studio, session, trial, gamer, build_head_model AS head, build_shaft_model AS shaft, build_grip_model AS grip,
				if(build_name = '', toString(build), toString(build_name)) AS build
			FROM trials FINAL WHERE n > 0 AND {{.Where}}
		) AS t
		INNER JOIN
		(
			SELECT v.studio AS studio, v.session AS session, any(c.build_head_model) AS head, any(c.build_shaft_model) AS shaft,
				any(c.build_grip_model) AS grip, any(if(c.build_name = '', toString(c.build), toString(c.build_name))) AS build
			FROM (SELECT studio, session, trial FROM verdicts FINAL WHERE live AND kind = 'build' AND {{.Choice}}) AS v
			INNER JOIN (SELECT * FROM trials FINAL WHERE {{.Where}}) AS c ON c.studio = v.studio AND c.session = v.session AND c.trial = v.trial
			GROUP BY v.studio, v.session
		) AS w ON w.studio = t.studio AND w.session = t.session
		ARRAY JOIN [('head', t.head, w.head), ('shaft', t.shaft, w.shaft), ('grip', t.grip, w.grip), ('build', t.build, w.build)] AS p
		WHERE NOT t.gamer AND p.2 != ''
	)
)
GROUP BY part, model HAVING tried >= {{.Least}} ORDER BY part, model
