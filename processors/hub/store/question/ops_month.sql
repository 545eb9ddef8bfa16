-- How a studio's bays delivered since a time: by bay its lines, those refused, those whose build is not
-- sure, numbers of its journals that are not here, rows set aside, and when the last line came.
SELECT bay, sum(there) AS lines, sum(no_shots) AS refused, sum(doubted) AS unsure, toUInt64(sum(gaps)) AS missing,
    any(aside.n) AS set_aside, max(came) AS latest
FROM (
    SELECT bay, journal, uniqExact(seq) AS there, uniqExactIf(seq, status = 'rejected') AS no_shots,
        uniqExactIf(seq, status = 'between' OR certainty = 'unsure') AS doubted, max(seq) - min(seq) + 1 - there AS gaps, max(received) AS came
    FROM entries FINAL WHERE studio = {studio:String} AND received >= {since:DateTime64(9, 'UTC')}
    GROUP BY bay, journal) AS journals
LEFT JOIN (
    SELECT bay, count() AS n FROM set_aside FINAL WHERE studio = {studio:String} AND at >= {since:DateTime64(9, 'UTC')} GROUP BY bay) AS aside
    USING (bay)
GROUP BY bay ORDER BY bay
