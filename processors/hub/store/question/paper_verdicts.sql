-- The newest verdicts of a studio.
SELECT id, visit, bay, player, category, kind, at, live, checked FROM verdicts FINAL
WHERE studio = ? ORDER BY at DESC, id LIMIT ?
