-- The event of a verdict, in each bay that has it.
SELECT any(event) FROM visit_events WHERE studio = ? AND id = ? AND kind = 'verdict_given' GROUP BY bay ORDER BY bay
