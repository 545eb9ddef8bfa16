-- Clubs that a player hit in two runs or more of one session under one circumstance, of
-- a snapshot, before an instant: the runs' moments of what four measures say. Runs of
-- fewer than four shots say too little of their spread.
SELECT player, runs.1 AS measure, count() AS runs_hit, sum(toFloat64(runs.2)) AS shots, sum(toFloat64(runs.2) * runs.2) AS squared_runs,
	sum(runs.2 * runs.3 * runs.3) - pow(sum(runs.2 * runs.3), 2) / sum(runs.2) AS between,
	sum(runs.4) / sum(toFloat64(runs.2) - 1) AS within, sum(toFloat64(runs.2) - 1) AS degrees
FROM
(
	SELECT player, session, level, build, at, first_order, arrayJoin([
		('carry', n_landing, carry_m, carry_ss), ('direction', n_directed, direction_deg, direction_ss),
		('launch', launched, launch_deg, launch_ss), ('spin', launched, spin_rpm, spin_ss)]) AS runs
	FROM fleet_trials
	WHERE snapshot = {{.Snapshot}} AND category = {c:String} AND toUnixTimestamp64Milli(at) < {b:Int64} AND build != ''
)
WHERE runs.2 >= 4 AND isFinite(runs.3) AND isFinite(runs.4)
GROUP BY player, session, level, build, measure
HAVING runs_hit >= 2
ORDER BY player, session, level, build, measure
LIMIT 200000
