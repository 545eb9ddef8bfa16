-- Where and when a trial was hit, an hour wider: the bay, first and last shot.
SELECT any(bay), min(first_shot) - INTERVAL 1 HOUR, max(last_shot) + INTERVAL 1 HOUR
FROM trials FINAL WHERE studio = {studio:String} AND session = {session:String} AND trial = {trial:String} AND n > 0
