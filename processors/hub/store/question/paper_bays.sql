-- The bays of a visit.
SELECT DISTINCT bay FROM visit_events WHERE studio = ? AND visit = ? ORDER BY bay
