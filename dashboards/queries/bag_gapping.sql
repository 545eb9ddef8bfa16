-- Does a player's bag leave gaps? The mean carry of full shots with each of the
-- player's own clubs, longest first, and the step to the next one. Clubs count as
-- the same where their whole specification does.
--
-- For: fitters building a set
-- Parameters:
--   player (String): the player's pseudonymous id
--   since (Date): first day that counts
-- Columns:
--   build_name    what the fitter called the club
--   category      club category
--   loft_deg      actual loft, degrees; the stated one where that is unknown
--   n             full shots
--   carry_m       mean carry, m
--   carry_low_m   a tenth of the shots land shorter, m (of a normal spread)
--   carry_high_m  a tenth land longer, m
--   gap_m         mean carry less that of the next shorter club, m; NULL for the last
--   carry_se_m    standard error of the mean carry, m, from the scatter within trials
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames&param_player=p-ada&param_since=2026-01-01' \
--     --data-binary @dashboards/queries/bag_gapping.sql
SELECT build_name, category, loft_deg, n, round(carry, 1) AS carry_m,
    round(carry - 1.2816 * sd, 1) AS carry_low_m,
    round(carry + 1.2816 * sd, 1) AS carry_high_m,
    round(carry - leadInFrame(toNullable(carry)) OVER (ORDER BY carry DESC ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING), 1) AS gap_m,
    round(sd / sqrt(n), 1) AS carry_se_m
FROM
(
    SELECT argMax(t.build_name, last_shot) AS build_name, any(t.category) AS category,
        any(coalesce(build_loft_deg, build_stated_loft_deg)) AS loft_deg,
        sum(n_landing) AS n,
        assumeNotNull(sum(carry_mean_m * n_landing)) / sum(n_landing) AS carry,
        sqrt(sum(scatter_cc_m2) / nullIf(sum(n_landing - 1), 0)) AS sd
    FROM trial_rows AS t
    WHERE player = {player:String} AND gamer AND class = 'full' AND t.category != 'putter' AND n_landing > 0
        AND toDate(first_shot) >= {since:Date}
    GROUP BY build
)
ORDER BY carry DESC
