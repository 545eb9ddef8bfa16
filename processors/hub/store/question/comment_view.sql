-- A view as it is, with comments on its columns.
CREATE OR REPLACE VIEW {{.Table}} ({{.Columns}}) AS {{.From}}
