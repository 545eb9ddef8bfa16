-- The sessions of a player as their events opened and corrected them: the last word on the player counts.
SELECT session FROM visit_events FINAL WHERE kind IN ('session_opened', 'session_corrected')
GROUP BY session HAVING argMaxIf(coalesce(nullIf(JSONExtractString(body, 'session_corrected', 'player'), ''),
        JSONExtractString(body, 'session_opened', 'player')), (effective, recorded),
    kind = 'session_opened' OR JSONExtractString(body, 'session_corrected', 'player') != '') = { {{- .Parameter}}:String}
