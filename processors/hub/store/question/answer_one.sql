-- The kept answer with an id.
SELECT body FROM answers WHERE id = {v:String} ORDER BY asked DESC LIMIT 1
