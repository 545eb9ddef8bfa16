package tag

import "math/rand/v2"

// oracleTimes settles when each hit counts, before the oracle looks what held
// then. Of a hit whose time is an interval it asks what held at its beginning
// and after each event within ('probes'), by the same ASOF JOINs: where that is
// not one and the same, and nobody said, the hit is open.
var oracleTimes = []string{
	// Events in force: a void acts unless a void in force takes it back. The
	// worlds hold chains of up to four voids; every step settles one more.
	`CREATE TABLE void0 ENGINE = Memory AS SELECT w, id, target FROM events WHERE kind = 'voided'`,
	`CREATE TABLE void1 ENGINE = Memory AS SELECT * FROM void0 WHERE (w, id) NOT IN (SELECT w, target FROM void0)`,
	`CREATE TABLE void2 ENGINE = Memory AS SELECT * FROM void0 WHERE (w, id) NOT IN (SELECT w, target FROM void1)`,
	`CREATE TABLE void3 ENGINE = Memory AS SELECT * FROM void0 WHERE (w, id) NOT IN (SELECT w, target FROM void2)`,
	`CREATE TABLE void4 ENGINE = Memory AS SELECT * FROM void0 WHERE (w, id) NOT IN (SELECT w, target FROM void3)`,
	`CREATE TABLE live ENGINE = Memory AS SELECT * FROM events
	 WHERE kind != 'voided' AND (w, id) NOT IN (SELECT w, target FROM void4)`,

	// Of several entries of one shot the one seen first is the hit.
	`CREATE TABLE firsts ENGINE = Memory AS
	 SELECT w, shot, f.1 AS journal, f.2 AS seq, f.3 AS effective, f.4 AS earliest, f.5 AS latest, f.6 AS boot, f.7 AS read, f.8 AS seen, f.9 AS wide FROM (
	   SELECT w, shot, argMin((journal, seq, effective, earliest, latest, boot, read, seen, wide), (received, journal, seq)) AS f FROM entries GROUP BY w, shot)`,
	`CREATE TABLE met ENGINE = Memory AS
	 SELECT w, word AS boot, argMin(number, (effective, recorded, journal, seq, id)) AS ahead, 1 AS is FROM live WHERE kind = 'met' GROUP BY w, word`,
	// What was on the screen when any event was recorded, taken back or not.
	`CREATE TABLE sights ENGINE = Memory AS
	 SELECT f.w AS w, f.shot AS shot, min(e.recorded) AS before FROM firsts AS f INNER JOIN events AS e ON f.w = e.w AND f.journal = e.sawJournal
	 WHERE e.sawSeq >= f.seq GROUP BY f.w, f.shot`,
	`CREATE TABLE bounded ENGINE = Memory AS
	 SELECT f.w AS w, f.shot AS shot, f.journal AS journal, f.seq AS seq, m.is = 1 AS told,
	        f.boot != '' AND told AND f.seen > 0 AND f.read - f.seen <= 150000000 AS once,
	        multiIf(f.boot != '' AND told, f.read + m.ahead, f.effective) AS guess,
	        toInt64(-9223372036854775808) AS ever, if(f.earliest = 0, ever, f.earliest) AS since,
	        multiIf(once, guess, f.boot != '' AND told AND f.seen > 0, greatest(since, f.seen + m.ahead - 1000), f.boot != '' AND told OR f.boot = '' AND f.latest != 0, since, guess) AS lo0,
	        multiIf(once, guess, f.boot != '' AND told, guess + 1000, f.boot = '' AND f.latest != 0, f.latest, guess) AS hi0,
	        f.boot != '' AND told AND NOT once OR f.boot = '' AND f.latest != 0 AS spread, s.before AS before, s.shot != '' AND f.wide = 1 AS sighted
	 FROM firsts AS f LEFT JOIN met AS m ON f.w = m.w AND f.boot = m.boot LEFT JOIN sights AS s ON f.w = s.w AND f.shot = s.shot`,
	`CREATE TABLE timed ENGINE = Memory AS
	 SELECT w, shot, journal, seq, if(spread AND sighted, greatest(lo0, least(hi0, before - 1)), hi0) AS hi, lo0 AS lo, least(greatest(guess, lo), hi) AS guessed FROM bounded`,

	`CREATE TABLE probes ENGINE = Memory AS
	 SELECT w, shot, lo AS at FROM timed WHERE lo < hi
	 UNION DISTINCT
	 SELECT t.w, t.shot, e.effective FROM timed AS t INNER JOIN live AS e ON t.w = e.w WHERE t.lo < e.effective AND e.effective <= t.hi`,
	`CREATE TABLE line0 ENGINE = Memory AS
	 SELECT *, row_number() OVER (PARTITION BY w ORDER BY at, hit, recorded, journal, seq, id) AS rank FROM (
	   SELECT w, id, kind, session, trial, word, shots, number, effective AS at, 0 AS hit, recorded, journal, seq FROM live
	   UNION ALL
	   SELECT w, shot AS id, 'probe' AS kind, '' AS session, '' AS trial, '' AS word, [] AS shots, 0 AS number, at, 1 AS hit, 0 AS recorded, '' AS journal, 0 AS seq FROM probes)`,
	opensOf("opens0", "line0"),
	`CREATE TABLE inside0 ENGINE = Memory AS
	 SELECT l.*, o.open AS open FROM line0 AS l ASOF LEFT JOIN opens0 AS o ON l.w = o.w AND l.rank >= o.rank`,
	`CREATE TABLE states0 ENGINE = Memory AS
	 SELECT w, open, rank, 'running' AS what, if(kind = 'started', trial, '') AS value FROM inside0
	 WHERE kind = 'opened' OR (kind IN ('started', 'ended') AND open != '')
	 UNION ALL
	 SELECT w, open, rank, 'paused', if(kind = 'paused', 'yes', '') FROM inside0
	 WHERE kind = 'opened' OR (kind IN ('started', 'ended', 'paused', 'resumed') AND open != '')
	 UNION ALL
	 SELECT w, open, rank, 'hitter', if(kind = 'hitter', word, 'player') FROM inside0
	 WHERE kind = 'opened' OR (kind = 'hitter' AND open != '')
	 UNION ALL
	 SELECT w, open, rank, 'class', if(kind = 'class', word, 'full') FROM inside0
	 WHERE kind = 'opened' OR (kind = 'class' AND open != '' AND empty(shots))
	 UNION ALL
	 SELECT w, open, rank, 'told', if(kind = 'instruction', toString(rank), '') FROM inside0
	 WHERE kind = 'opened' OR (kind = 'instruction' AND open != '')`,
	`CREATE TABLE asked0 ENGINE = Memory AS
	 SELECT p.w AS w, p.id AS shot, p.at AS at, p.open AS open, p.rank AS rank, arrayJoin(['running', 'paused', 'hitter', 'class', 'told']) AS what FROM inside0 AS p WHERE p.kind = 'probe'`,
	`CREATE TABLE held0 ENGINE = Memory AS
	 SELECT w, shot, at, any(open) AS open, groupArraySorted(8)((what, value)) AS state, anyIf(value, what = 'running') AS running, anyIf(value, what = 'paused') AS paused FROM (
	   SELECT a.*, s.value AS value FROM asked0 AS a ASOF LEFT JOIN states0 AS s ON a.w = s.w AND a.open = s.open AND a.what = s.what AND a.rank >= s.rank)
	 GROUP BY w, shot, at`,
	`CREATE TABLE doubts ENGINE = Memory AS
	 SELECT w, shot, uniqExact(if(open = '' OR running = '' OR paused != '', 'nobody', concat(open, toString(state)))) > 1 AS doubtful FROM held0 GROUP BY w, shot`,
	`CREATE TABLE moves0 ENGINE = Memory AS
	 SELECT w, shot, argMax((trial, number), rank) AS m FROM (SELECT w, arrayJoin(shots) AS shot, trial, number, rank FROM line0 WHERE kind = 'moved')
	 WHERE trial = '' OR (w, trial) IN (SELECT w, trial FROM inside0 WHERE kind = 'started' AND open != '') GROUP BY w, shot`,
	`CREATE TABLE ends0 ENGINE = Memory AS
	 SELECT h.w AS w, h.shot AS shot, max(if(h.until = 0, t.hi, h.until - 1)) AS last FROM (
	   SELECT *, leadInFrame(at, 1, 0) OVER (PARTITION BY w, shot ORDER BY at ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING) AS until FROM held0) AS h
	 INNER JOIN timed AS t ON h.w = t.w AND h.shot = t.shot
	 INNER JOIN moves0 AS m ON h.w = m.w AND h.shot = m.shot
	 WHERE h.running != '' AND h.running = m.m.1 AND h.paused = '' AND h.open != '' GROUP BY h.w, h.shot`,
	`CREATE TABLE hits ENGINE = Memory AS
	 SELECT t.w AS w, t.shot AS shot, t.journal AS journal, t.seq AS seq, m.shot != '' AS said,
	        multiIf(t.lo = t.hi OR NOT said, t.guessed, m.m.2 != 0, greatest(least(m.m.2, t.hi), t.lo), e.shot != '', e.last, t.guessed) AS effective,
	        d.doubtful AND NOT said AS open
	 FROM timed AS t LEFT JOIN moves0 AS m ON t.w = m.w AND t.shot = m.shot LEFT JOIN ends0 AS e ON t.w = e.w AND t.shot = e.shot
	 LEFT JOIN doubts AS d ON t.w = d.w AND t.shot = d.shot`,
}

// opensOf makes the table of which session is open from a line of events on: those
// that rest beside it are remembered in a fold, a turn goes to one of them, a close
// leaves them resting, and whoever opens without sharing the bay ends them all.
func opensOf(table, line string) string {
	return `CREATE TABLE ` + table + ` ENGINE = Memory AS
	 SELECT w, p.1 AS rank, p.2 AS open FROM (
	   SELECT w, arrayJoin(arrayZip(e.1, arrayFold((a, kind, s, how) ->
	     multiIf(kind = 'opened' AND how = 'beside' AND a.1 != '', (s, arrayPushBack(a.2, a.1), arrayPushBack(a.3, s)),
	             kind = 'opened' AND how = 'beside', (s, a.2, arrayPushBack(a.3, s)),
	             kind = 'opened', (s, CAST([], 'Array(String)'), arrayPushBack(a.3, s)),
	             kind = 'closed', ('', a.2, arrayPushBack(a.3, '')),
	             NOT has(a.2, s), (a.1, a.2, arrayPushBack(a.3, a.1)),
	             (s, arrayFilter(x -> x != s AND x != '', arrayPushBack(a.2, a.1)), arrayPushBack(a.3, s))),
	     e.2, e.3, e.4, ('', CAST([], 'Array(String)'), CAST([], 'Array(String)'))).3)) AS p
	   FROM (SELECT w, arrayMap(x -> x.1, g) AS e1, (e1, arrayMap(x -> x.2, g), arrayMap(x -> x.3, g), arrayMap(x -> x.4, g)) AS e FROM (
	     SELECT w, arraySort(groupArray((rank, kind, session, word))) AS g FROM ` + line + ` WHERE kind IN ('opened', 'closed', 'turned') GROUP BY w)))`
}

// drawTime makes the time of a third of the entries one that is not known.
func drawTime(r *rand.Rand, f *Fact) {
	reach := func() int64 { return int64(r.IntN(16)) * aSecond }
	switch r.IntN(9) {
	case 0: // narrow
		f.Earliest, f.Latest = f.Effective-min(reach(), Narrow), f.Effective+min(reach(), Narrow)
	case 1:
		f.Wide, f.Earliest, f.Latest = true, f.Effective-reach(), f.Effective+reach()
		if r.IntN(3) == 0 {
			f.Earliest = 0
		}
	case 2:
		f.Unsure, f.Wide, f.Boot = true, true, []string{"b1", "b2", "b3"}[r.IntN(3)]
		f.Read = f.Effective - morning + 3600*aSecond
		if f.Earliest = f.Effective - reach(); r.IntN(3) > 0 {
			f.Seen = f.Read - reach()
		}
	}
}
