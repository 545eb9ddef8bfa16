-- How far does a device's carry lie from what our flight model makes of the same
-- launch, bay by bay and month by month? A step from one month to the next points to
-- a change of software, ball or alignment. Only shots whose flight the device left
-- partly open have a computed carry to hold against; there are no rows for the rest.
--
-- For: ops, analysts
-- Parameters:
--   studio (String): the studio
-- Columns:
--   bay                 bay
--   device              device as its field map names it
--   firmware            the device's firmware, where given
--   carry_air           whether the device adjusted its carry for air
--   month               first day of the month, UTC
--   shots               shots with both carries
--   residual_percent    median of measured less computed carry, percent of computed
--   spread_percent      half the range of the middle 68 %, percent
--   offline_residual_m  median of measured less computed offline, m, positive right
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames&param_studio=harbour-row' \
--     --data-binary @dashboards/queries/carry_against_model.sql
SELECT bay, device, firmware, carry_air, toStartOfMonth(at) AS month, count() AS shots,
    round(100 * quantileExactInclusive(0.5)(carry_m / our_carry_m - 1), 2) AS residual_percent,
    round(50 * (quantileExactInclusive(0.84)(carry_m / our_carry_m) - quantileExactInclusive(0.16)(carry_m / our_carry_m)), 2) AS spread_percent,
    round(quantileExactInclusive(0.5)(offline_m - our_offline_m), 2) AS offline_residual_m
FROM shots
WHERE studio = {studio:String} AND isNotNull(carry_m) AND our_carry_m > 0
GROUP BY bay, device, firmware, carry_air, month
ORDER BY bay, device, firmware, carry_air, month
