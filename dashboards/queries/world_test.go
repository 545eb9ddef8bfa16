package queries

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
	"fairlead/processors/visit/trial"
)

// run is one trial of the known studio: six shots whose directions are mean −2s,
// mean, mean +2s, twice over, so that their sum of squares is 16 s², and whose
// carries are carry −1, carry, carry +1, twice over.
type run struct {
	bay, visit, session, trial, player, category string
	day                                          time.Time
	hand                                         event.Hand
	consent, minor                               bool
	build                                        *event.Build
	order                                        int // first shot in the session
	carry, mean, s, speed, spin                  float64
	strikeX                                      float64 // of the first shot; the others hit the centre
}

type world struct {
	store   *store.Store
	seq     map[string]uint64
	entries []store.EntryRow
	trials  []store.TrialRow
}

func day(year, month, d int) time.Time {
	return time.Date(year, time.Month(month), d, 10, 0, 0, 0, time.UTC)
}

func club(name string, gamer bool, specs map[event.BuildField]float64) *event.Build {
	b := &event.Build{Name: name, ClubId: name, Gamer: gamer}
	for f, x := range specs {
		b.Specs = append(b.Specs, &event.Spec{Field: f, Number: x, Knowledge: event.Knowledge_KNOWLEDGE_MEASURED})
	}
	return b
}

func (w *world) entry(bay string, at time.Time, measures map[event.Field]float64) *event.Entry {
	w.seq[bay]++
	seq := w.seq[bay]
	id := event.ShotIDFor("alder", fmt.Sprint(bay, seq))
	e := &event.Entry{Contract: 1, Studio: "harbour-row", Bay: bay, Journal: "00000000000000" + bay[:2], Seq: seq, ShotId: id[:],
		Device: "alder",
		Feed:   "alder", File: "shots.csv", Line: seq + 1, ReceivedUnixNs: at.UnixNano(), EffectiveUnixNs: at.UnixNano(),
		Certainty: event.Certainty_CERTAINTY_SYNCED}
	for f, x := range measures {
		e.Measures = append(e.Measures, &event.Measure{Field: f, Value: x, Provenance: event.Provenance_PROVENANCE_MEASURED})
	}
	return e
}

// hit adds a trial's shots and its row.
func (w *world) hit(r run) {
	var shots []trial.Shot
	for i := range 6 {
		at := r.day.Add(time.Duration(r.order+i) * time.Minute)
		carry := r.carry + float64(i%3-1)
		direction := r.mean + r.s*2*float64(i%3-1)
		m := map[event.Field]float64{
			event.Field_FIELD_CARRY: carry, event.Field_FIELD_OFFLINE: carry * math.Tan(direction*math.Pi/180),
			event.Field_FIELD_CLUBHEAD_SPEED: r.speed, event.Field_FIELD_SPIN_RATE: r.spin,
			event.Field_FIELD_STRIKE_X: 0, event.Field_FIELD_STRIKE_Y: 0,
		}
		if i == 0 {
			m[event.Field_FIELD_STRIKE_X] = r.strikeX
		}
		w.count(r, w.entry(r.bay, at, m), i, &shots)
	}
	w.row(r, shots)
}

func (w *world) count(r run, e *event.Entry, i int, shots *[]trial.Shot) {
	v := shot.Of(e, shot.Frame{})
	w.entries = append(w.entries, store.EntryRow{Entry: e, Values: &v, Tag: &tag.Tag{
		Situation: &tag.Situation{Visit: r.visit, Session: r.session, Trial: r.trial, Part: 1, Player: r.player, Hand: r.hand,
			Category: r.category, Consent: r.consent, Minor: r.minor, BuildKey: event.BuildKey(r.build)},
		Version: 1, Status: tag.Counts, At: e.EffectiveUnixNs, OrderInTrial: i + 1, OrderInSession: r.order + i, Swap: i + 1}})
	*shots = append(*shots, trial.Shot{Values: &v, Counts: true, Effective: e.EffectiveUnixNs, Order: r.order + i, Device: "alder"})
}

func (w *world) row(r run, shots []trial.Shot) {
	w.trials = append(w.trials, store.TrialRow{Studio: "harbour-row", Bay: r.bay, Visit: r.visit, Session: r.session, Trial: r.trial, Part: 1,
		Version: 1,
		Player:  r.player, Hand: r.hand, Category: r.category, Consent: r.consent, Minor: r.minor, Build: r.build, Level: 1,
		Row: trial.Compute(shots)})
}

// newWorld fills a database with a studio whose answers can be worked out by hand.
func newWorld(t *testing.T, s *store.Store) *world {
	t.Helper()
	w := &world{store: s, seq: map[string]uint64{}}
	right, left := event.Hand_HAND_RIGHT, event.Hand_HAND_LEFT
	own := club("Own driver", true, map[event.BuildField]float64{event.BuildField_BUILD_SHAFT_WEIGHT: .060, event.BuildField_BUILD_LOFT: 10.5})
	long := club("Half inch longer", false, map[event.BuildField]float64{event.BuildField_BUILD_SHAFT_WEIGHT: .071})
	seven := club("Own 7-iron", true, map[event.BuildField]float64{event.BuildField_BUILD_STATED_LOFT: 34})
	ada := run{bay: "north", visit: "v-ada-26", session: "s-ada-26", player: "p-ada", category: "driver", day: day(2026, 5, 4), hand: right,
		consent: true, build: own, speed: 42, spin: 2700}
	with := func(r run, change func(*run)) run { change(&r); return r }
	for _, r := range []run{
		with(ada, func(r *run) { r.trial, r.order, r.carry, r.s, r.strikeX = "t-ada-own", 1, 200, 1, .03 }),
		with(ada, func(r *run) { r.trial, r.order, r.carry, r.s, r.speed, r.build = "t-ada-long", 7, 204, .5, 43, long }),
		with(ada, func(r *run) { r.trial, r.order, r.carry, r.s, r.speed = "t-ada-again", 13, 202, 1, 42.5 }),
		with(ada, func(r *run) {
			r.trial, r.order, r.carry, r.s, r.session, r.category, r.build, r.speed, r.spin = "t-ada-7", 20, 150, 1, "s-ada-7", "iron", seven, 36,
				6500
		}),
		with(ada, func(r *run) { // the year before, in another bay
			r.trial, r.order, r.carry, r.s, r.mean, r.spin = "t-ada-25", 1, 196, 1, 1, 2800
			r.visit, r.session, r.bay, r.day, r.speed = "v-ada-25", "s-ada-25", "south", day(2025, 5, 5), 41
		}),
		with(ada, func(r *run) { // the delivered club, and the gamer beside it
			r.trial, r.order, r.carry, r.s, r.build, r.speed = "t-ada-check", 1, 203, 1, long, 42
			r.visit, r.session, r.day = "v-ada-check", "s-ada-check", day(2026, 6, 1)
		}),
		with(ada, func(r *run) {
			r.trial, r.order, r.carry, r.s = "t-ada-beside", 7, 200, 1
			r.visit, r.session, r.day = "v-ada-check", "s-ada-check", day(2026, 6, 1)
		}),
		{bay: "quay", visit: "v-bo", session: "s-bo", trial: "t-bo", player: "p-bo", category: "iron", day: day(2026, 5, 4), hand: left,
			build: seven, order: 1, carry: 140, s: 1, speed: 35, spin: 6400},
		{bay: "quay", visit: "v-kit", session: "s-kit", trial: "t-kit", player: "p-kit", category: "iron", day: day(2026, 5, 4), hand: right,
			consent: true, minor: true, build: seven, order: 1, carry: 120, s: 1, speed: 30, spin: 6000},
	} {
		w.hit(r)
	}
	w.flown(run{bay: "pier", visit: "v-dee", session: "s-dee", trial: "t-dee", player: "p-dee", category: "wood", day: day(2026, 5, 4),
		hand: right, consent: true, build: club("Own 3-wood", true, nil), order: 1})
	w.refused()
	ctx := t.Context()
	check(t, s.Migrate(ctx))
	check(t, s.InsertEntries(ctx, w.entries))
	check(t, s.InsertTrials(ctx, w.trials))
	check(t, w.verdicts(ctx))
	// Every row was stored two seconds after its line was read.
	check(t, s.Conn().Exec(ctx, "INSERT INTO entries SELECT * REPLACE (received + INTERVAL 2 SECOND AS inserted, version + 1 AS version) "+
		"FROM entries FINAL"))
	return w
}

// flown adds shots whose carry is 2 % longer than our model's, and 1 m to the right.
func (w *world) flown(r run) {
	var shots []trial.Shot
	for i := range 4 {
		launch := map[event.Field]float64{event.Field_FIELD_BALL_SPEED: 60 + float64(i), event.Field_FIELD_LAUNCH_ANGLE: 14,
			event.Field_FIELD_SPIN_RATE: 3500}
		at := r.day.Add(time.Duration(i) * time.Minute)
		model := shot.Of(&event.Entry{Measures: w.entry("scratch", at, launch).Measures}, shot.Frame{}).Ours
		launch[event.Field_FIELD_CARRY], launch[event.Field_FIELD_OFFLINE] = 1.02*model.Carry, model.Offline+1
		w.count(r, w.entry(r.bay, at, launch), i, &shots)
	}
	w.row(r, shots)
}

// refused adds two lines that were no shots, and one that was read twice.
func (w *world) refused() {
	for i := range 3 {
		e := w.entry("north", day(2026, 5, 4).Add(time.Duration(30+i)*time.Minute), nil)
		t := &tag.Tag{Situation: &tag.Situation{}, Version: 1, Status: tag.Rejected, At: e.EffectiveUnixNs}
		if i < 2 {
			e.Faults = []*event.Fault{{Field: "ball_speed", Value: "151", Reason: "above 105 m/s"}}
		} else {
			t.Status, t.Reason = tag.Repeat, "the same line again"
		}
		w.entries = append(w.entries, store.EntryRow{Entry: e, Tag: t, Values: &shot.Values{}})
	}
}

func (w *world) verdicts(ctx context.Context) error {
	at := day(2026, 5, 4).UnixNano()
	return w.store.InsertVerdicts(ctx, []store.VerdictRow{
		{Place: stream.Place{Studio: "harbour-row", Bay: "north"}, ID: "e1", Version: 1, Visit: "v-ada-26", Session: "s-ada-26", Player: "p-ada",
			Category: "driver", At: at,
			CheckTrial: "t-ada-check", Live: true, Given: &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: "t-ada-long",
				Baseline: "t-ada-own",
				Promises: []*event.Promise{{Outcome: "carry", Change: 4, Low: 1, High: 7, ProbabilityBetter: .99},
					{Outcome: "direction", Change: -.69, Low: -1.2, High: -.1, ProbabilityBetter: .95}}}},
		{Place: stream.Place{Studio: "harbour-row", Bay: "quay"}, ID: "e2", Version: 1, Visit: "v-bo", Session: "s-bo", Player: "p-bo",
			Category: "iron", At: at,
			Live: true, Given: &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_KEEP_GAMER, Trial: "t-bo", Baseline: "t-bo"}},
	})
}

func check(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
