-- The head office's newest answer to a question that was here before an instant, and
-- whose flights come from one model (f), the program's.
SELECT body, office, studios, received, signed FROM fleet_priors FINAL
WHERE question = {v:String} AND model = {m:String} AND JSONExtractString(body, 'mark', 'flight_model') = {f:String} AND toUnixTimestamp64Milli(received) < {b:Int64}
ORDER BY answered DESC, received DESC LIMIT 1
