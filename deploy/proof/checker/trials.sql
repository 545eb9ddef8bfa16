SELECT CAST(bay AS String) AS bay, CAST(trial AS String) AS trial, toInt32(sum(n)) AS shots
FROM trials FINAL GROUP BY bay, trial
FORMAT JSONEachRow
