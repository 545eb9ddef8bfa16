-- The own clubs of a category that players hit in full at visits before one, of those who
-- hit one twice: what was measured of each swing, and what a difference may come from
-- besides. Newest first, so that a bound keeps what is newest.
SELECT player, visit, session, hand, first_shot,
    toString(tuple(device, firmware, place, surface, ball_model, ball_class, build_length_m, build_loft_deg, build_lie_deg)) AS circumstances,
    fields.field, fields.n, fields.mean, fields.ss
FROM trials FINAL
WHERE studio = {s:String} AND category = {c:String} AND gamer AND class = 'full' AND n >= {n:UInt32} AND consent AND NOT minor AND player != ''
    AND visit != '' AND toUnixTimestamp64Nano(first_shot) < {b:Int64} AND player IN
    (
        SELECT player FROM trials WHERE studio = {s:String} AND category = {c:String} AND gamer AND class = 'full' AND toUnixTimestamp64Nano(first_shot) < {b:Int64}
        GROUP BY player HAVING uniqExact(trial, part) >= 2
    )
ORDER BY first_shot DESC, part, trial
LIMIT 20000
