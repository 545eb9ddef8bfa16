-- A trial's number of shots is that of its shots.
SELECT t.studio, t.session, t.trial, t.part, t.n, s.n AS shots
FROM {{ source('fairlead', 'trial_rows') }} AS t
INNER JOIN (SELECT studio, session, trial, part, count() AS n FROM {{ source('fairlead', 'shots') }} GROUP BY studio, session, trial, part) AS s
    ON s.studio = t.studio AND s.session = t.session AND s.trial = t.trial AND s.part = t.part
WHERE s.n != t.n
