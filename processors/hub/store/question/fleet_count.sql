-- How many trials there are.
SELECT count() FROM fleet_trials WHERE {{.Where}}
