-- How many studios trials are of.
SELECT uniqExact(studio) FROM fleet_trials WHERE {{.Where}}
