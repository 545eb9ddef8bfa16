-- Thirds of the players' clubhead speed in m/s; 0 where nobody's is known.
SELECT ifNotFinite(quantileExact(1/3)(assumeNotNull(speed_mps)), 0), ifNotFinite(quantileExact(2/3)(assumeNotNull(speed_mps)), 0)
FROM profiles WHERE {{.Where}} AND isNotNull(speed_mps)
