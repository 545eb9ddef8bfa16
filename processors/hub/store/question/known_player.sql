-- Whether a player is known: 0 if not.
SELECT (SELECT count() FROM (SELECT 1 FROM entries WHERE player = {id:String} LIMIT 1))
    + (SELECT count() FROM (SELECT 1 FROM trials WHERE player = {id:String} LIMIT 1))
    + (SELECT count() FROM (
{{template "export_sessions.sql" .}}))
