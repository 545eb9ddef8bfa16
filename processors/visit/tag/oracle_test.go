package tag

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// The oracle knows nothing of the code under test: it is SQL over the raw
// events and entries. Events and hits of a world are put into one order, each
// with a rank of its own, and the engine's ASOF JOIN finds for every hit the
// last event before it that decides its session, trial, pause, hitter and
// class. (With equal times an ASOF JOIN may take any row, hence the ranks.) Which
// session is open where players take turns is a fold over the events that say so;
// what holds in a session is then looked for among its own events. Moves, exclusions and named classes are laid over that.
var oracle = []string{
	`CREATE TABLE line ENGINE = Memory AS
	 SELECT *, row_number() OVER (PARTITION BY w ORDER BY at, hit, recorded, journal, seq, id) AS rank FROM (
	   SELECT w, id, kind, session, trial, build, word, shots, effective AS at, 0 AS hit, recorded, journal, seq FROM live
	   UNION ALL
	   SELECT w, shot AS id, 'hit' AS kind, '' AS session, '' AS trial, '' AS build, if(open, 'between', '') AS word, [] AS shots,
	          effective AS at, 1 AS hit, 0 AS recorded, journal, seq FROM hits)`,

	opensOf("opens", "line"),
	`CREATE TABLE inside ENGINE = Memory AS
	 SELECT l.*, o.open AS open FROM line AS l ASOF LEFT JOIN opens AS o ON l.w = o.w AND l.rank >= o.rank`,
	`CREATE TABLE starts ENGINE = Memory AS
	 SELECT w, open, rank, if(kind = 'started', trial, '') AS running FROM inside
	 WHERE kind = 'opened' OR (kind IN ('started', 'ended') AND open != '')`,
	`CREATE TABLE pauses ENGINE = Memory AS
	 SELECT w, open, rank, kind = 'paused' AS paused FROM inside
	 WHERE kind = 'opened' OR (kind IN ('started', 'ended', 'paused', 'resumed') AND open != '')`,
	`CREATE TABLE hitters ENGINE = Memory AS
	 SELECT w, open, rank, if(kind = 'hitter', word, 'player') AS hitter FROM inside
	 WHERE kind = 'opened' OR (kind = 'hitter' AND open != '')`,
	`CREATE TABLE classes ENGINE = Memory AS
	 SELECT w, open, rank, if(kind = 'class', word, 'full') AS class FROM inside
	 WHERE kind = 'opened' OR (kind = 'class' AND open != '' AND empty(shots))`,

	`CREATE TABLE trials ENGINE = Memory AS
	 SELECT s.w AS w, s.trial AS trial, s.open AS session, if(a.trial = '', s.build, a.build) AS build
	 FROM (SELECT * FROM inside WHERE kind = 'started' AND open != '') AS s
	 LEFT JOIN (SELECT w, trial, argMax(build, rank) AS build FROM line WHERE kind = 'amended' GROUP BY w, trial) AS a
	 ON s.w = a.w AND s.trial = a.trial`,
	`CREATE TABLE instructions ENGINE = Memory AS
	 SELECT i.w AS w, s.running AS trial, i.at AS at
	 FROM (SELECT * FROM inside WHERE kind = 'instruction' AND open != '') AS i
	 ASOF LEFT JOIN starts AS s ON i.w = s.w AND i.open = s.open AND i.rank >= s.rank`,
	`CREATE TABLE moves ENGINE = Memory AS
	 SELECT w, shot, argMax(trial, rank) AS goal FROM (SELECT w, arrayJoin(shots) AS shot, trial, rank FROM line WHERE kind = 'moved')
	 WHERE trial = '' OR (w, trial) IN (SELECT w, trial FROM trials) GROUP BY w, shot`,
	`CREATE TABLE exclusions ENGINE = Memory AS
	 SELECT w, shot, argMax(kind, rank) AS last FROM (SELECT w, arrayJoin(shots) AS shot, kind, rank FROM line WHERE kind IN ('excluded', 'restored'))
	 GROUP BY w, shot`,
	`CREATE TABLE named ENGINE = Memory AS
	 SELECT w, shot, argMax(word, rank) AS class FROM (SELECT w, arrayJoin(shots) AS shot, word, rank FROM line WHERE kind = 'class' AND notEmpty(shots))
	 GROUP BY w, shot`,

	`CREATE TABLE held ENGINE = Memory AS
	 SELECT h.*, c.class AS class FROM (
	   SELECT h.*, p.hitter AS hitter FROM (
	     SELECT h.*, p.paused AS paused FROM (
	       SELECT h.*, s.running AS running FROM (SELECT * FROM inside WHERE kind = 'hit') AS h
	       ASOF LEFT JOIN starts AS s ON h.w = s.w AND h.open = s.open AND h.rank >= s.rank) AS h
	     ASOF LEFT JOIN pauses AS p ON h.w = p.w AND h.open = p.open AND h.rank >= p.rank) AS h
	   ASOF LEFT JOIN hitters AS p ON h.w = p.w AND h.open = p.open AND h.rank >= p.rank) AS h
	 ASOF LEFT JOIN classes AS c ON h.w = c.w AND h.open = c.open AND h.rank >= c.rank`,
	`CREATE TABLE laid ENGINE = Memory AS
	 SELECT h.w AS w, h.id AS id, h.at AS at, h.journal AS journal, h.seq AS seq, h.open AS open, h.paused AS paused,
	        h.hitter AS hitter, h.class AS class, h.word AS doubt, m.shot != '' AS moved,
	        if(m.shot != '', m.goal, h.running) AS goal, x.last AS said, n.class AS named
	 FROM held AS h
	 LEFT JOIN moves AS m ON h.w = m.w AND h.id = m.shot
	 LEFT JOIN exclusions AS x ON h.w = x.w AND h.id = x.shot
	 LEFT JOIN named AS n ON h.w = n.w AND h.id = n.shot`,
	`CREATE TABLE judged ENGINE = Memory AS
	 SELECT l.*, t.session AS home, t.build AS build, if(t.session = l.open, l.hitter, 'player') AS swung,
	        multiIf(l.named != '', l.named, t.session = l.open, l.class, 'full') AS kind,
	        multiIf(l.doubt = 'between', 'between', NOT l.moved AND l.open != '' AND l.paused, 'paused', t.trial = '', 'nobody', swung != 'player', 'other_hitter',
	                l.said = 'excluded', 'excluded', kind = 'practice', 'practice', kind = 'no_ball', 'no_ball', 'counts') AS status,
	        if(status IN ('paused', 'nobody', 'between'), '', t.trial) AS trial,
	        if(status = 'between', '', if(trial != '', t.session, l.open)) AS session
	 FROM laid AS l LEFT JOIN trials AS t ON l.w = t.w AND l.goal = t.trial`,
	`CREATE TABLE numbered ENGINE = Memory AS
	 SELECT *, sum(fresh) OVER (PARTITION BY w, session ORDER BY place) AS run FROM (
	   SELECT *, build != lagInFrame(build, 1, '-') OVER (PARTITION BY w, session ORDER BY place ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING) AS fresh FROM (
	     SELECT *, row_number() OVER (PARTITION BY w, session ORDER BY at, journal, seq, id) AS place,
	            row_number() OVER (PARTITION BY w, trial ORDER BY at, journal, seq, id) AS turn
	     FROM judged WHERE status IN ('counts', 'excluded', 'practice', 'no_ball')))`,
}

const oracleAnswer = `
	SELECT j.w, j.id, j.journal, j.seq, j.status, j.session, j.trial,
	       toUInt32(if(j.trial = '', 0, 1 + (i.n))) AS part,
	       toUInt32(n.place), toUInt32(n.turn), toUInt32(n.swap)
	FROM judged AS j
	LEFT JOIN (SELECT w, id, place, turn, row_number() OVER (PARTITION BY w, session, run ORDER BY place) AS swap FROM numbered) AS n
	  ON j.w = n.w AND j.id = n.id
	LEFT JOIN (SELECT h.w AS w, h.id AS id, count() AS n FROM judged AS h INNER JOIN instructions AS i ON h.w = i.w AND h.trial = i.trial
	           WHERE i.at <= h.at AND h.trial != '' GROUP BY h.w, h.id) AS i
	  ON j.w = i.w AND j.id = i.id`

// rawEvent is a row of the oracle's table of events.
type rawEvent struct {
	w                                          uint32
	id, kind, session, trial, build, word, aim string
	shots                                      []string
	effective, recorded                        int64
	journal                                    string
	seq                                        uint64
	number                                     int64 // ahead of a clock met, instant of a move
	sawJournal                                 string
	sawSeq                                     uint64
}

// drawRaw makes a world for the oracle: entries of one
// device, of times known in every way, in the words of its table, with many equal times, late events,
// moves into trials of other sessions, events outside of any session, and
// voids of voids of voids.
func drawRaw(r *rand.Rand, w uint32) (events []rawEvent, facts []Fact) {
	pick := func(words ...string) string { return words[r.IntN(len(words))] }
	at := func() int64 { return morning + int64(r.IntN(80))*aSecond }
	shots := make([]string, 1+r.IntN(16))
	for i := range shots {
		shots[i] = event.ShotIDFor("d", fmt.Sprint(w, "/", i)).String()
	}
	seqs := map[string]uint64{}
	for range 1 + r.IntN(24) {
		id, _ := event.ParseShotID(pick(shots...))
		journal := pick("aaaaaaaaaaaaaaaa", "bbbbbbbbbbbbbbbb")
		seqs[journal]++
		f := Fact{Key: Key{journal, seqs[journal], id}, Content: 1, Valid: true, Effective: at(), Device: "d"}
		f.Received = f.Effective - int64(r.IntN(2))*7*aSecond
		drawTime(r, &f)
		facts = append(facts, f)
	}
	var trials, sessions []string
	depth := map[string]int{}
	for i := range r.IntN(40) {
		ev := rawEvent{w: w, id: fmt.Sprintf("e%02d", i), effective: at(), journal: pick("x", "y"), seq: uint64(r.IntN(3))}
		ev.recorded = ev.effective + int64(r.IntN(3))*aSecond
		if r.IntN(4) == 0 {
			ev.sawJournal, ev.sawSeq = pick("aaaaaaaaaaaaaaaa", "bbbbbbbbbbbbbbbb"), uint64(1+r.IntN(12))
		}
		name := func() {
			for range 1 + r.IntN(3) {
				ev.shots = append(ev.shots, pick(shots...))
			}
		}
		switch r.IntN(19) {
		case 0, 1:
			ev.kind, ev.session, ev.word = "opened", fmt.Sprint("s", i), pick("", "beside", "beside")
			sessions = append(sessions, ev.session)
		case 17, 18:
			ev.kind, ev.session = "turned", pick(append([]string{"s99"}, sessions...)...)
		case 2:
			ev.kind = "closed"
		case 3, 4, 5, 6:
			ev.kind, ev.trial, ev.build = "started", fmt.Sprint("t", i), pick("gamer", "long", "soft")
			trials = append(trials, ev.trial)
		case 7:
			ev.kind = pick("paused", "resumed", "ended")
		case 8:
			ev.kind, ev.word = "hitter", pick("fitter", "player", "guest")
		case 9:
			ev.kind, ev.word = "class", pick("full", "partial", "practice", "no_ball")
			if r.IntN(2) == 0 {
				name()
			}
		case 10:
			ev.kind = "instruction"
		case 11:
			ev.kind = pick("excluded", "excluded", "restored")
			name()
		case 12, 13:
			ev.kind = "moved"
			ev.trial = pick(append([]string{"", "t99"}, trials...)...)
			name()
			if r.IntN(2) == 0 {
				ev.number = at()
			}
		case 14:
			ev.kind, ev.trial, ev.build = "amended", pick(append([]string{"t99"}, trials...)...), pick("gamer", "long", "soft")
		case 16:
			ev.kind, ev.word, ev.number = "met", pick("b1", "b2"), morning-3600*aSecond+int64(r.IntN(5)-2)*aSecond
		case 15:
			ev.kind, ev.aim = "voided", "e98"
			if i > 0 {
				ev.aim = fmt.Sprintf("e%02d", r.IntN(i))
			}
			// A void voids what came before it, so chains end; longer ones than
			// the oracle settles are cut.
			if depth[ev.aim] >= 4 {
				ev.aim = "e98"
			}
			depth[ev.id] = depth[ev.aim] + 1
		}
		events = append(events, ev)
	}
	return events, facts
}

// contract puts a row of the oracle's table into the words of the contract.
func (e rawEvent) contract() *event.VisitEvent {
	ev := &event.VisitEvent{
		Contract: 1, Id: e.id, Studio: "harbour-row", Bay: "north", Journal: e.journal, Seq: e.seq,
		EffectiveUnixNs: e.effective, RecordedUnixNs: e.recorded, Session: e.session,
	}
	if e.sawJournal != "" {
		ev.LastSeen = &event.Seen{Journal: e.sawJournal, Seq: e.sawSeq}
	}
	var ids [][]byte
	for _, s := range e.shots {
		id, _ := event.ParseShotID(s)
		ids = append(ids, id[:])
	}
	build := &event.Build{Specs: []*event.Spec{{Field: event.BuildField_BUILD_HEAD_MODEL, Text: e.build}}}
	switch e.kind {
	case "opened":
		ev.Body = &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p", Category: "iron", Beside: e.word == "beside"}}
	case "turned":
		ev.Body = &event.VisitEvent_TurnTaken{TurnTaken: &event.TurnTaken{}}
	case "closed":
		ev.Body = &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}
	case "started":
		ev.Body = &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: e.trial, Build: build}}
	case "paused":
		ev.Body = &event.VisitEvent_TrialPaused{TrialPaused: &event.TrialPaused{}}
	case "resumed":
		ev.Body = &event.VisitEvent_TrialResumed{TrialResumed: &event.TrialResumed{}}
	case "ended":
		ev.Body = &event.VisitEvent_TrialEnded{TrialEnded: &event.TrialEnded{}}
	case "hitter":
		kind := map[string]event.HitterKind{"fitter": event.HitterKind_HITTER_FITTER, "guest": event.HitterKind_HITTER_GUEST}[e.word]
		ev.Body = &event.VisitEvent_HitterChanged{HitterChanged: &event.HitterChanged{Kind: kind}}
	case "class":
		class := map[string]event.ShotClass{"partial": 1, "practice": 2, "no_ball": 3}[e.word]
		ev.Body = &event.VisitEvent_ClassChanged{ClassChanged: &event.ClassChanged{Class: class, ShotIds: ids}}
	case "instruction":
		ev.Body = &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{Words: "stand closer"}}
	case "excluded":
		ev.Body = &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: ids, Reason: "thinned"}}
	case "restored":
		ev.Body = &event.VisitEvent_ShotsRestored{ShotsRestored: &event.ShotsRestored{ShotIds: ids}}
	case "moved":
		ev.Body = &event.VisitEvent_ShotsMoved{ShotsMoved: &event.ShotsMoved{ShotIds: ids, Trial: e.trial, AtUnixNs: e.number}}
	case "amended":
		ev.Body = &event.VisitEvent_BuildAmended{BuildAmended: &event.BuildAmended{Trial: e.trial, Build: build}}
	case "met":
		ev.Body = &event.VisitEvent_ClockMet{ClockMet: &event.ClockMet{Boot: e.word, AheadNs: e.number, ErrorNs: 1000}}
	case "voided":
		ev.Body = &event.VisitEvent_Voided{Voided: &event.Voided{Event: e.aim}}
	}
	return ev
}

// TestAsofOracle compares tags with what the engine answers over the full
// history. FAIRLEAD_PROVE=1 runs more worlds; FAIRLEAD_SEED sets the first.
func TestAsofOracle(t *testing.T) {
	worlds, seed := proof.Cases(400, 20000), proof.Seed(t, 1)
	t.Logf("%d worlds from seed %d", worlds, seed)
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	defer cancel()
	conn := enginetest.New(t).Open(t)
	exec := func(sql string) {
		t.Helper()
		if err := conn.Exec(ctx, sql); err != nil {
			t.Fatalf("%s\n%v", sql, err)
		}
	}
	exec(`CREATE TABLE events (w UInt32, id String, kind String, session String, trial String, build String, word String, target String,
	      shots Array(String), effective Int64, recorded Int64, journal String, seq UInt64, number Int64, sawJournal String, sawSeq UInt64) ENGINE = Memory`)
	exec(`CREATE TABLE entries (w UInt32, journal String, seq UInt64, shot String, received Int64, effective Int64,
	      earliest Int64, latest Int64, boot String, read Int64, seen Int64, wide Bool) ENGINE = Memory`)

	want := map[string]Tag{}
	named := func(w uint32, k Key) string { return fmt.Sprint(w, " ", k) }
	eventRows, err := conn.PrepareBatch(ctx, "INSERT INTO events")
	if err != nil {
		t.Fatal(err)
	}
	entryRows, err := conn.PrepareBatch(ctx, "INSERT INTO entries")
	if err != nil {
		t.Fatal(err)
	}
	for w := range uint32(worlds) {
		events, facts := drawRaw(rand.New(rand.NewPCG(seed, uint64(w))), w)
		log := &visit.Log{}
		for _, e := range events {
			log.Add(e.contract())
			if err := eventRows.Append(e.w, e.id, e.kind, e.session, e.trial, e.build, e.word, e.aim, e.shots, e.effective, e.recorded, e.journal,
				e.seq,
				e.number, e.sawJournal, e.sawSeq); err != nil {
				t.Fatal(err)
			}
		}
		for _, f := range facts {
			if err := entryRows.Append(w, f.Journal, f.Seq, f.ID.String(), f.Received, f.Effective,
				f.Earliest, f.Latest, f.Boot, f.Read, f.Seen, f.Wide); err != nil {
				t.Fatal(err)
			}
		}
		for k, tag := range Compute(log, facts) {
			if tag.Status != Repeat { // those the oracle leaves out
				want[named(w, k)] = tag
			}
		}
	}
	if err := eventRows.Send(); err != nil {
		t.Fatal(err)
	}
	if err := entryRows.Send(); err != nil {
		t.Fatal(err)
	}
	for _, sql := range slices.Concat(oracleTimes, oracle) {
		exec(sql)
	}
	rows, err := conn.Query(ctx, oracleAnswer)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	seen, wrong, statuses := 0, 0, map[string]int{}
	for rows.Next() {
		var w, part, place, turn, swap uint32
		var seq uint64
		var shot, journal, status, session, trial string
		if err := rows.Scan(&w, &shot, &journal, &seq, &status, &session, &trial, &part, &place, &turn, &swap); err != nil {
			t.Fatal(err)
		}
		seen++
		statuses[status]++
		id, err := event.ParseShotID(shot)
		if err != nil {
			t.Fatal(err)
		}
		tag, ok := want[named(w, Key{journal, seq, id})]
		says := fmt.Sprint(status, session, trial, part, place, turn, swap)
		if got := fmt.Sprint(tag.Status, tag.Session, tag.Trial, tag.Part, tag.OrderInSession, tag.OrderInTrial, tag.Swap); !ok || got != says &&
			(tag.Status != Between || status != "between") {
			if wrong++; wrong <= 5 {
				t.Errorf("world %d (seed %d), %s/%d: the oracle says %q, the tag %q", w, seed, journal, seq, says, got)
			}
		}
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	if seen != len(want) || wrong > 5 {
		t.Errorf("%d hits compared, %d differ, %d were tagged", seen, wrong, len(want))
	}
	for _, s := range []Status{Counts, Excluded, Practice, NoBall, OtherHitter, Paused, Nobody, Between} {
		if statuses[s.String()] == 0 {
			t.Errorf("no hit of the worlds is %s", s)
		}
	}
}
