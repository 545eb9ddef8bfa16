-- What of a bay is stored: entries, repeats, refused lines, untagged, unsure, shots that count twice, numbers of two shots.
SELECT count(), countIf(status = 'repeat'), countIf(status = 'rejected'),
    countIf(status IN ('', 'unknown')), countIf(certainty = 'unsure'),
    uniqExactIf(shot_id, counted > 1), uniqExactIf((journal, seq), claims > 1)
FROM (
    SELECT journal, seq, shot_id, status, certainty,
        countIf(status NOT IN ('repeat', 'superseded', 'rejected', 'deleted')) OVER (PARTITION BY shot_id) AS counted,
        count() OVER (PARTITION BY journal, seq) AS claims
    FROM entries FINAL WHERE studio = ? AND bay = ?)
