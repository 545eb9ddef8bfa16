-- verdicts_followed: what was decided and not taken back, with who fitted, the order
-- that was made of it, and what came of that, as the events say that stand now.
--   fitter        of the session; empty: nobody was named
--   order_number  the latest order of the verdict; empty: none was placed
--   order_outcome where that order stands, '' without one: ordered, parts_there,
--                 in_work, curing, to_measure, ready, delivered, cancelled; of one that
--                 was not cancelled, returned or remade where the last word on one of
--                 its clubs is that
--   delivered     when it was handed out last, the epoch: never
--   reworked, remade, returned  how often that was said of its clubs
-- An event that was taken back says nothing; taking back is followed six deep.
CREATE OR REPLACE VIEW verdicts_followed
AS
WITH
    voids AS (SELECT studio, id, JSONExtractString(body, 'voided', 'event') AS target FROM visit_events FINAL WHERE kind = 'voided'),
    voids1 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids)),
    voids2 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids1)),
    voids3 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids2)),
    voids4 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids3)),
    voids5 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids4)),
    voids6 AS (SELECT * FROM voids WHERE (studio, id) NOT IN (SELECT studio, target FROM voids5)),
    said AS
    (
        SELECT studio, kind, body, who, tuple(effective, recorded, journal, seq, id) AS place FROM visit_events FINAL
        WHERE kind IN ('order_placed', 'order_moved', 'club_built') AND (studio, id) NOT IN (SELECT studio, target FROM voids6)
    ),
    placed AS
    (
        SELECT studio, JSONExtractString(body, 'order_placed', 'verdict') AS verdict,
            argMax(JSONExtractString(body, 'order_placed', 'order'), place) AS number
        FROM said WHERE kind = 'order_placed' GROUP BY studio, verdict
    ),
    moved AS
    (
        SELECT studio, JSONExtractString(body, 'order_moved', 'order') AS number,
            argMax(JSONExtractString(body, 'order_moved', 'state'), place) AS state,
            maxIf(place.1, JSONExtractString(body, 'order_moved', 'state') = 'ORDER_DELIVERED') AS delivered
        FROM said WHERE kind = 'order_moved' GROUP BY studio, number
    ),
    built AS
    (
        SELECT studio, number, sum(reworks) AS reworked, sum(remakes) AS remade, sum(returns) AS returned, groupUniqArray(last) AS lasts
        FROM
        (
            SELECT studio, JSONExtractString(body, 'club_built', 'order') AS number, JSONExtractString(body, 'club_built', 'club') AS club,
                countIf(judged = 'BUILT_REWORK') AS reworks,
                countIf(judged = 'BUILT_REMAKE') AS remakes, countIf(judged = 'BUILT_RETURNED') AS returns, argMax(judged, place) AS last
            FROM (SELECT *, JSONExtractString(body, 'club_built', 'judgement') AS judged FROM said WHERE kind = 'club_built')
            GROUP BY studio, number, club
        )
        GROUP BY studio, number
    ),
    fitted AS
    (
        SELECT studio, session, any(JSONExtractString(body, 'session_opened', 'fitter')) AS fitter
        FROM visit_events FINAL WHERE kind = 'session_opened' GROUP BY studio, session
    )
SELECT v.studio AS studio, v.bay AS bay, v.id AS id, v.visit AS visit, v.session AS session, v.player AS player, v.category AS category,
    v.kind AS kind, v.trial AS trial, v.baseline AS baseline, v.build AS build, v.words AS words, v.at AS at,
    v.promised_outcome AS promised_outcome, v.promised_change AS promised_change, v.promised_low AS promised_low,
    v.promised_high AS promised_high, v.promised_probability_better AS promised_probability_better, v.checked AS checked, v.check_trial AS check_trial,
    f.fitter AS fitter, p.number AS order_number,
    multiIf(p.number = '', '', m.state = 'ORDER_CANCELLED', 'cancelled', has(b.lasts, 'BUILT_RETURNED'), 'returned',
        has(b.lasts, 'BUILT_REMAKE'), 'remade', m.state = '', 'ordered', lower(substring(m.state, 7))) AS order_outcome,
    m.delivered AS delivered, b.reworked AS reworked, b.remade AS remade, b.returned AS returned
FROM verdicts_live AS v
LEFT JOIN placed AS p ON p.studio = v.studio AND p.verdict = v.id
LEFT JOIN moved AS m ON m.studio = v.studio AND m.number = p.number
LEFT JOIN built AS b ON b.studio = v.studio AND b.number = p.number
LEFT JOIN fitted AS f ON f.studio = v.studio AND f.session = v.session;
