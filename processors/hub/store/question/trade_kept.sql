-- What verdicts promised and hit checks measured, with whose verdict it was and how
-- many days later the club was hit.
SELECT p.outcome, p.player, t.fitter, p.compared, toInt64(dateDiff('day', p.decided, c.first)), p.promised, p.promised_low, p.promised_high,
	assumeNotNull(p.measured), assumeNotNull(p.se)
FROM (SELECT * FROM promises_checked WHERE isNotNull(measured) AND isNotNull(se) AND {{.Choice}}) AS p
INNER JOIN (SELECT studio, trial, any(fitter) AS fitter FROM trials FINAL WHERE n > 0 GROUP BY studio, trial) AS t ON t.studio = p.studio AND t.trial = p.trial
INNER JOIN (SELECT studio, trial, min(first_shot) AS first FROM trials FINAL WHERE n > 0 GROUP BY studio, trial) AS c ON c.studio = p.studio AND c.trial = p.check_trial
ORDER BY p.outcome, p.verdict
