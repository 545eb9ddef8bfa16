-- An answer that is kept.
INSERT INTO answers (id, question, kind, model, category, outcome, label, asked, seconds, snapshot,
    mark_inserted, mark_version, trials, players, refused, body)
