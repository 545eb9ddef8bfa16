-- Promises of verdicts with what their hit checks measured, of all outcomes.
SELECT outcome, verdict, studio, player, build, trial, check_trial, promised, promised_low, promised_high,
    assumeNotNull(measured), assumeNotNull(se), compared
FROM promises_checked WHERE isNotNull(measured) AND isNotNull(se) AND {category:String} IN ('', category)
ORDER BY verdict
