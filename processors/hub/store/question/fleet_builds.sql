-- The builds of a snapshot beside the players' own, with how many hit them.
INSERT INTO fleet_builds
SELECT snapshot, category, build, any(build_name), uniq(player), count(), {{attributes}}
FROM fleet_trials WHERE snapshot = {{.Snapshot}} AND NOT gamer GROUP BY snapshot, category, build
