-- What the hit check of a verdict measured of each promise.
SELECT outcome, measured, se FROM promises_checked
WHERE studio = ? AND verdict = ? AND isNotNull(measured) AND isNotNull(se)
