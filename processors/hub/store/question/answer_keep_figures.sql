-- Figures of a snapshot that are kept, as an answer.
INSERT INTO answers (id, question, kind, category, asked, snapshot, mark_inserted, mark_version, trials, players, body)
