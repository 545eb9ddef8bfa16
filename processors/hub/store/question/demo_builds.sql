-- Every stored shot with the build that it counts for; empty where it does not count.
SELECT shot_id, maxIf(toString(build), status = 'counts') FROM entries FINAL GROUP BY shot_id
