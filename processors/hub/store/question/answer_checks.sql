-- What the trials of those verdicts' sessions, and of the sessions of their hit checks,
-- were: sums as they are stored, since the views that make outcomes of them cost the
-- store more to understand than these few rows to read. Of a trial in parts the one with
-- most shots first.
SELECT studio, session, trial, level, build, toUnixTimestamp64Nano(last_shot), category, if({{present}}, n_landing, 0), carry_mean_m, scatter_cc_m2, scatter_co_m2,
    scatter_oo_m2, if({{present}}, n_directed, 0), direction_ss_deg2, fields.field, fields.n, fields.mean, fields.ss
FROM trials FINAL
WHERE n > 0 AND session IN
    (
        SELECT session FROM verdicts FINAL
        WHERE live AND checked AND {category:String} IN ('', category) AND {verdict:String} IN ('', id) AND {studio:String} IN ('', studio)
        UNION ALL
        SELECT session FROM trials WHERE (studio, trial) IN
        (
            SELECT studio, check_trial FROM verdicts FINAL
            WHERE live AND checked AND {category:String} IN ('', category) AND {verdict:String} IN ('', id) AND {studio:String} IN ('', studio)
        )
    )
ORDER BY n DESC, part
