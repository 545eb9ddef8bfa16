-- What a view selects.
SELECT as_select FROM system.tables WHERE database = currentDatabase() AND name = ?
