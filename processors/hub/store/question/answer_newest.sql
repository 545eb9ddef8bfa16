-- The kept answer to a question of the newest data.
SELECT id FROM answers WHERE question = {v:String} AND model = {m:String}
ORDER BY snapshot DESC, asked DESC LIMIT 1
