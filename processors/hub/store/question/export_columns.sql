-- The columns of a view, in its order.
SELECT name FROM system.columns WHERE database = currentDatabase() AND table = ? ORDER BY position
