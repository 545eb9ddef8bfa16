-- What came from other studios: by studio its bays and lines since a moment, and when the last line of the time before was hit.
SELECT studio, uniqExactIf(bay, received >= {day:DateTime64(9, 'UTC')}) AS bays,
    uniqExactIf((bay, journal, seq), received >= {day:DateTime64(9, 'UTC')}) AS lines, max(received) AS latest
FROM entries
WHERE studio != {studio:String} AND received >= {since:DateTime64(9, 'UTC')}
GROUP BY studio ORDER BY latest DESC, studio
