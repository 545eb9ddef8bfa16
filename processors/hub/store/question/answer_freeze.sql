-- A snapshot that is kept for an answer.
INSERT INTO fleet_frozen (snapshot, answer, trials)
