-- Of how many players the trials are.
SELECT uniqExact(player) FROM fleet_trials WHERE {{.Where}}
