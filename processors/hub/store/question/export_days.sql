-- On which days of which studios there are rows.
SELECT toString(toDate({{.Columns}})) AS day, studio, count() FROM {{.From}} WHERE {{.Where}} GROUP BY day, studio ORDER BY day, studio
