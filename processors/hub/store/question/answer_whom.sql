-- The newest answers that say whom a step would help, one a question, asked since an instant.
SELECT argMax(body, asked) AS newest FROM answers
WHERE kind = 'enquiry' AND JSONExtractString(body, 'enquiry', 'kind') = 'whom' AND toUnixTimestamp64Milli(asked) >= {b:Int64}
GROUP BY question ORDER BY max(asked) DESC LIMIT 50
