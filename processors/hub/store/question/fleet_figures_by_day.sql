-- The same from sums by studio and day.
SELECT studio, sum(trials), sum(shots), uniqMerge(players), sum(excluded), min(first), max(last), uniqMerge(sessions),
    ifNotFinite(sqrt(sum(direction_ss) / sum(direction_df)), 0),
    ifNotFinite(sum(carry_sum) / sum(landings), 0)
FROM fleet_days WHERE {{.Where}}
GROUP BY studio WITH ROLLUP ORDER BY studio != '', 2 DESC, studio LIMIT {{.Most}}
