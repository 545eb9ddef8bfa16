-- A shot counts once, wherever it was read.
SELECT shot_id, count() AS rows FROM {{ source('fairlead', 'shots') }} GROUP BY shot_id HAVING rows > 1
