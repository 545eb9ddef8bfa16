-- The newest finished snapshot.
SELECT snapshot, mark_inserted, mark_version, trials, shots, players, profiles, made, seconds, joins, flight_model, outdated
FROM fleet_snapshots FINAL ORDER BY snapshot DESC LIMIT 1
