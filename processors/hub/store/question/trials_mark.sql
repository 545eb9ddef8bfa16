-- How far trials have come.
SELECT max(inserted), max(version) FROM trials
