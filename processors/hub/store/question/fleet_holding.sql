-- What trials there are: how many, of how many players, from when to when.
SELECT count(), uniqExact(player), min(at), max(at) FROM fleet_trials WHERE {{.Where}}
