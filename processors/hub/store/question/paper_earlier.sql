-- The last visit of a player before one, in which the own club of a category was hit: bay, session, visit, first shot.
SELECT CAST(bay AS String), session, visit, first_shot FROM trials FINAL
WHERE studio = ? AND player = ? AND category = ? AND visit != ? AND gamer AND n >= ? AND class = 'full'
    AND toUnixTimestamp64Nano(first_shot) < ?
ORDER BY first_shot DESC LIMIT 1
