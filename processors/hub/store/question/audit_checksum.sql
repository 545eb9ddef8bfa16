-- How many rows a table has, and the sum of what they hash to, which their order does not change.
SELECT count(), sum(h) FROM (SELECT {{.Columns}} AS h FROM {{.Table}} FINAL{{with .Where}} WHERE {{.}}{{end}})
