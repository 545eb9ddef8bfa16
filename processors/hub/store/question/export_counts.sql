-- What rows are, how many of them a choice takes, and how many it leaves.
SELECT toString({{.Columns}}) AS what, countIf({{.Choice}}), countIf(NOT ({{.Choice}}))
FROM {{.From}} WHERE {{.Where}} GROUP BY what
