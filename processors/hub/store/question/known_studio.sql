-- Whether a studio is known: 0 if not.
SELECT (SELECT count() FROM (SELECT 1 FROM entries WHERE studio = {id:String} LIMIT 1))
    + (SELECT count() FROM (SELECT 1 FROM trials WHERE studio = {id:String} LIMIT 1))
    + (SELECT count() FROM (SELECT 1 FROM visit_events WHERE studio = {id:String} LIMIT 1))
