-- Verdicts whose delivered club was hit, of a category or one verdict of a studio, with
-- what they promised of each outcome.
SELECT studio, id, player, build, trial, baseline, check_trial, promised.outcome, promised.change, promised.low, promised.high
FROM verdicts FINAL
WHERE live AND checked AND {category:String} IN ('', category) AND {verdict:String} IN ('', id) AND {studio:String} IN ('', studio)
ORDER BY id
