SELECT CAST(bay AS String) AS bay, device_shot_id, CAST(status AS String) AS status,
	CAST(trial AS String) AS trial, carry_m, offline_m
FROM entries FINAL
FORMAT JSONEachRow
