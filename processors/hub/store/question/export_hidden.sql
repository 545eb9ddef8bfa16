-- How many rows are never exported.
SELECT count() FROM {{.From}} WHERE {{.Where}}
