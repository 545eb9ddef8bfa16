-- Every column of the store's tables and views, with its comment.
SELECT c.table, c.name, c.type, c.comment, t.engine
FROM system.columns AS c INNER JOIN system.tables AS t ON t.database = c.database AND t.name = c.table
WHERE c.database = currentDatabase() AND NOT t.is_temporary AND c.table NOT LIKE '.%' ORDER BY c.table, c.position
