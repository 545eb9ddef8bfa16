-- Of each verdict of a studio whose club was hit again: how many promises were
-- measured, and how many of them lay inside of what was promised.
SELECT verdict, count() AS promises, countIf(inside) AS kept FROM promises_checked
WHERE studio = ? AND isNotNull(measured) GROUP BY verdict ORDER BY verdict
