-- The head office's answers that are here.
SELECT id FROM fleet_priors FINAL WHERE question != 'state'
