-- A bay's day by the hour from its first moment: shots that count, refused lines, all lines.
SELECT toUInt8(intDiv(toUnixTimestamp(received) - toUnixTimestamp({from:DateTime64(9, 'UTC')}), 3600)) AS hour,
    uniqExactIf((journal, seq), status = 'counts') AS counts, uniqExactIf((journal, seq), status = 'rejected') AS refused, uniqExact((journal, seq)) AS lines
FROM entries FINAL
WHERE studio = {studio:String} AND bay = {bay:String} AND received >= {from:DateTime64(9, 'UTC')} AND received < {to:DateTime64(9, 'UTC')}
GROUP BY hour ORDER BY hour
