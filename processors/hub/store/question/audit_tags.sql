-- The tags of a bay as they are stored.
SELECT journal, seq, shot_id, status, session, trial, part, build, player, order_trial
FROM entries FINAL WHERE studio = ? AND bay = ? ORDER BY journal, seq, shot_id
