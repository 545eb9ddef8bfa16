-- The events of a bay that bear on a visit.
SELECT any(event) FROM visit_events WHERE studio = ? AND bay = ? AND (visit = ? OR session = ''
    OR kind IN ('session_opened', 'session_closed', 'session_corrected', 'session_erased', 'turn_taken', 'setting_changed', 'voided'))
GROUP BY id ORDER BY id
