-- Kept answers to a question of data that were stored before an instant, the newest first;
-- only those whose flights come from one model (f), the program's.
SELECT id FROM answers WHERE question = {v:String} AND model = {m:String} AND refused = ''
    AND JSONExtractString(body, 'mark', 'flight_model') = {f:String}
    AND toUnixTimestamp64Milli(mark_inserted) < {b:Int64} AND snapshot < {b:Int64}
ORDER BY snapshot DESC, asked DESC LIMIT 3
