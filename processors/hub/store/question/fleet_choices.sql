-- Studios and how many players they have.
SELECT studio, toUInt64(uniqMerge(players)) FROM fleet_days WHERE {{.Where}} GROUP BY studio ORDER BY studio
