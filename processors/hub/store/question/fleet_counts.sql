-- What a snapshot holds: profiles, trials, shots, players.
SELECT (SELECT count() FROM profiles WHERE snapshot = {{.Snapshot}}), count(), sum(n), uniqExact(player)
FROM fleet_trials WHERE snapshot = {{.Snapshot}}
