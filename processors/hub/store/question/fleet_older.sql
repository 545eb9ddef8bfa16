-- Snapshots older than one, finished or not.
SELECT DISTINCT snapshot FROM
(
	SELECT snapshot FROM fleet_trials WHERE snapshot < {{.Snapshot}} GROUP BY snapshot
	UNION ALL
	SELECT snapshot FROM profiles WHERE snapshot < {{.Snapshot}} GROUP BY snapshot
)
WHERE snapshot NOT IN (SELECT snapshot FROM fleet_frozen)
