-- A finished snapshot.
INSERT INTO fleet_snapshots (snapshot, made, seconds, mark_inserted, mark_version, trials, shots, players, profiles, joins, flight_model, outdated)
