-- Keep an answer of the head office's.
INSERT INTO fleet_priors (id, question, model, category, outcome, office, players, studios, answered, mark_inserted, received, signed, body)
