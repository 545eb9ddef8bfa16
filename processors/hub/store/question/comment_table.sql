-- Comments on columns of a table.
ALTER TABLE {{.Table}} {{.Columns}}
