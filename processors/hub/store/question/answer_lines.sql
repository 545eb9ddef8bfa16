-- The newest answer to each question, the newest questions first.
SELECT id, category, outcome, label, asked, seconds, trials, players, refused
FROM (SELECT * EXCEPT body FROM answers WHERE kind = 'effects' ORDER BY snapshot DESC, asked DESC LIMIT 1 BY question)
ORDER BY asked DESC LIMIT {{.Most}}
