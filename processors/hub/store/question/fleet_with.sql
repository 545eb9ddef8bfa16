-- The condition that a session hit one of some builds.
(player, session) IN (SELECT player, session FROM fleet_trials
    WHERE snapshot = {{.Snapshot}} AND build IN ({{.Builds}}))
