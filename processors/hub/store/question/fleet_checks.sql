-- Figures of bays' checks that stand, in time: what was read with which club and ball.
-- An event that was taken back says nothing; taking back is followed six deep.
WITH
    voids AS (SELECT studio, id, JSONExtractString(body, 'voided', 'event') AS target FROM visit_events FINAL WHERE kind = 'voided'),
    voids1 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids)),
    voids2 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids1)),
    voids3 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids2)),
    voids4 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids3)),
    voids5 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids4)),
    voids6 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids5))
SELECT CAST(studio AS String), CAST(bay AS String), JSONExtractString(body, 'bay_checked', 'device') AS device,
    JSONExtractString(body, 'bay_checked', 'club_id'), JSONExtractString(body, 'bay_checked', 'ball'), toUnixTimestamp64Nano(effective) AS at,
    tupleElement(read, 1) AS figure, tupleElement(read, 2), tupleElement(read, 3), tupleElement(read, 4)
FROM visit_events FINAL
ARRAY JOIN JSONExtract(body, 'bay_checked', 'fields', 'Array(Tuple(field String, shots UInt32, mean Float64, sd Float64))') AS read
WHERE kind = 'bay_checked' AND device != '' AND (studio, id) NOT IN (SELECT studio, target FROM voids6)
ORDER BY at, studio, bay, id, figure
