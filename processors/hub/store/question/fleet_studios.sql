-- Studios with players enough.
SELECT studio FROM fleet_trials WHERE {{.Where}}
GROUP BY studio HAVING uniqExact(player) >= {{.Least}} ORDER BY studio LIMIT 100
