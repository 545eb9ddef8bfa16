-- The condition that a session was opened for a category.
session IN (SELECT session FROM visit_events
    WHERE kind = 'session_opened' AND JSONExtractString(body, 'session_opened', 'category') = {category:String})
