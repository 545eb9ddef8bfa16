-- Take a player out of a table.
DELETE FROM {{.Table}} WHERE player = ?
