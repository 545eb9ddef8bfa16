-- The condition that a trial is of one of two builds, in a session that hit both.
build IN ({{.Builds}}) AND (player, session) IN (SELECT player, session FROM fleet_trials
    WHERE snapshot = {{.Snapshot}} AND build IN ({{.Builds}}) GROUP BY player, session HAVING uniqExact(build) = 2)
