-- How many verdicts have a hit check.
SELECT count() FROM verdicts FINAL WHERE live AND checked AND {category:String} IN ('', category)
