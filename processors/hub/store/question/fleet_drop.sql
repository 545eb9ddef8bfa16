-- Take a snapshot out of a table.
ALTER TABLE {{.Table}} DROP PARTITION {{.Snapshot}}
