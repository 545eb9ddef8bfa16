-- Whether trials that a condition holds for are stored: a cheap look before what describes them.
SELECT count() FROM (SELECT 1 FROM trials WHERE {{.Where}} LIMIT 1)
