-- Rows for a file, in a fixed order.
SELECT {{.Columns}} FROM {{.From}} WHERE {{.Where}} ORDER BY {{.Order}}
