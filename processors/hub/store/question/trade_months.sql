-- Sessions, players, shots, verdicts, new clubs and what they promised of direction (mean, variance, number), by month.
SELECT m.month, m.sessions, m.players, m.shots, v.decided, v.new, ifNull(v.promised, 0), ifNull(v.spread, 0), v.promises
FROM
(
	SELECT formatDateTime(first_shot, '%Y-%m') AS month, uniqExact(studio, session) AS sessions, uniqExact(player) AS players, toUInt64(sum(n)) AS shots
	FROM trials FINAL WHERE n > 0 AND player != '' AND {{.Where}} GROUP BY month
) AS m
LEFT JOIN
(
	SELECT formatDateTime(at, '%Y-%m') AS month, count() AS decided, countIf(kind = 'build') AS new,
		avgOrNullIf(change, kind = 'build' AND has) AS promised, varSampOrNullIf(change, kind = 'build' AND has) AS spread, countIf(kind = 'build' AND has) AS promises
	FROM
	(
		SELECT at, kind, indexOf(promised.outcome, 'direction') AS place, place > 0 AS has, promised.change[place] AS change
		FROM verdicts FINAL WHERE live AND {{.Choice}}
	)
	GROUP BY month
) AS v USING (month)
ORDER BY m.month
