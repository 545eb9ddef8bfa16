-- The builds that were tried, those of most players first.
SELECT build, build_name, players, trials, {{names}} FROM fleet_builds WHERE {{.Where}}
ORDER BY players DESC, build LIMIT {{.Most}}
