-- Trials that are judged, of the players after one, in the order of the table.
SELECT {{.Columns}} FROM fleet_trials WHERE {{.Where}} AND NOT describes AND player > {{.After}}
ORDER BY player, category, session, number, part LIMIT {{.Most}}
