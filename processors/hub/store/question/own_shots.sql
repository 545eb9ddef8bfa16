-- What a player hit with own clubs since a time, part by part of trials, oldest first: trial, class, length that was
-- meant, and the moments (shots, mean, sum of squares about it) of carry, landing angle and spin.
SELECT trial, category, class, class_length_m, ifNull(build_loft_deg, 0), if({{present}}, n_landing, 0), carry_mean_m, scatter_cc_m2,
    toUInt32(fields.n[indexOf(fields.field, {{field "LANDING_ANGLE"}})]), fields.mean[indexOf(fields.field, {{field "LANDING_ANGLE"}})],
    fields.ss[indexOf(fields.field, {{field "LANDING_ANGLE"}})],
    toUInt32(fields.n[indexOf(fields.field, {{field "SPIN_RATE"}})]), fields.mean[indexOf(fields.field, {{field "SPIN_RATE"}})],
    fields.ss[indexOf(fields.field, {{field "SPIN_RATE"}})]
FROM trials FINAL
WHERE studio = ? AND player = ? AND gamer AND n > 0 AND class IN ('full', 'partial') AND toUnixTimestamp64Nano(first_shot) >= ?
ORDER BY first_shot, trial, part
