-- What the trials of those verdicts' sessions, and of the sessions of their hit checks,
-- gave of each outcome; of a trial in parts the one with most shots.
SELECT studio, session, trial, level, build, toUnixTimestamp64Nano(last_shot) AS last, outcome, assumeNotNull(value), variance
FROM trial_outcomes
WHERE session IN
    (
        SELECT session FROM verdicts FINAL
        WHERE live AND checked AND {category:String} IN ('', category) AND {verdict:String} IN ('', id) AND {studio:String} IN ('', studio)
        UNION ALL
        SELECT session FROM trials WHERE (studio, trial) IN
        (
            SELECT studio, check_trial FROM verdicts FINAL
            WHERE live AND checked AND {category:String} IN ('', category) AND {verdict:String} IN ('', id) AND {studio:String} IN ('', studio)
        )
    )
ORDER BY n DESC, part LIMIT 1 BY studio, session, trial, outcome
