-- What trials say of each studio, and of all (an empty name), the largest first.
SELECT studio, count(), sum(n), uniq(player), sum(n_excluded), min(at), max(at), uniq(session),
    ifNotFinite(sqrt(sumIf(direction_ss, n_directed > 1) / sumIf(n_directed - 1, n_directed > 1)), 0),
    ifNotFinite(sum(carry_m * n_landing) / sum(n_landing), 0)
FROM fleet_trials WHERE {{.Where}}
GROUP BY studio WITH ROLLUP ORDER BY studio != '', 2 DESC, studio LIMIT {{.Most}}
