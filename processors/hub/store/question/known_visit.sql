-- Whether a visit is known: 0 if not.
SELECT (SELECT count() FROM (SELECT 1 FROM trials WHERE visit = {id:String} LIMIT 1))
    + (SELECT count() FROM (SELECT 1 FROM visit_events WHERE visit = {id:String} LIMIT 1))
