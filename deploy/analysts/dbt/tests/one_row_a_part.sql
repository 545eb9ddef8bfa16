-- A part of a trial has one row.
SELECT studio, session, trial, part, count() AS rows FROM {{ source('fairlead', 'trial_rows') }} GROUP BY studio, session, trial, part HAVING rows > 1
