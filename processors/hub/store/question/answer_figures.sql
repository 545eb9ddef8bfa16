-- Figures that are kept.
SELECT body FROM answers WHERE question = {kind:String} AND id = {id:String} LIMIT 1
