-- A snapshot summed up by day.
INSERT INTO fleet_days
SELECT snapshot, category, studio, toDate(at), count(), sum(n), sum(n_excluded), uniqState(player), uniqState(session), min(at), max(at),
	sumIf(direction_ss, n_directed > 1), sumIf(n_directed - 1, n_directed > 1), sum(carry_m * n_landing), sum(n_landing)
FROM fleet_trials WHERE snapshot = {{.Snapshot}} GROUP BY snapshot, category, studio, toDate(at)
