-- The head office's answer with an id.
SELECT body, office, studios, received, signed FROM fleet_priors FINAL WHERE id = {v:String} LIMIT 1
