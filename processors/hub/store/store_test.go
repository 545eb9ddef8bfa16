package store

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"

	"fairlead/deploy/engine/enginetest"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
	"fairlead/processors/visit/trial"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(enginetest.Wrap(m)) }

func open(t testing.TB) *Store {
	t.Helper()
	s := New(enginetest.New(t).Open(t))
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	return s
}

var place = stream.Place{Studio: "harbour-row", Bay: "north"}

func entryRow(seq uint64, version uint64) EntryRow {
	id := event.ShotIDFor("alder", fmt.Sprint(seq))
	at := time.Date(2026, 5, 4, 9, 0, 0, 123456789, time.UTC).Add(time.Duration(seq) * time.Second).UnixNano()
	e := &event.Entry{
		Contract: 1, Studio: place.Studio, Bay: place.Bay, Journal: "00000000000000aa", Seq: seq, ShotId: id[:], Device: "alder",
		Raw: fmt.Appendf(nil, "line %d", seq), ReceivedUnixNs: at, EffectiveUnixNs: at, Certainty: event.Certainty_CERTAINTY_SYNCED,
		Measures: []*event.Measure{
			{Field: event.Field_FIELD_CARRY, Value: 150.1 + float64(seq%7), Provenance: event.Provenance_PROVENANCE_MEASURED},
			{Field: event.Field_FIELD_OFFLINE, Value: -3.3 + float64(seq%5)},
			{Field: event.Field_FIELD_SPIN_RATE, Value: 6000 + float64(seq%11)},
		},
	}
	values := shot.Of(e, shot.Frame{})
	return EntryRow{Entry: e, Tag: &tag.Tag{Situation: &tag.Situation{Session: "s1", Trial: "t1", Part: 1},
		Version: version, Status: tag.Counts, At: at, OrderInTrial: int(seq)}, Values: &values}
}

func TestMigrateTwiceAndRefuseTheFuture(t *testing.T) {
	s := open(t)
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	if at, pending, err := s.Plan(t.Context()); err != nil || at == 0 || len(pending) != 0 {
		t.Errorf("after the last step: at %d, %d to do: %v", at, len(pending), err)
	}
	if err := s.conn.Exec(t.Context(), "TRUNCATE TABLE schema_steps"); err != nil {
		t.Fatal(err)
	}
	if at, pending, err := s.Plan(t.Context()); err != nil || at != 0 || len(pending) < 7 {
		t.Errorf("before the first step: at %d, %d to do: %v", at, len(pending), err)
	}
	if err := s.Migrate(t.Context()); err != nil {
		t.Errorf("all steps a second time: %v", err)
	}
	if err := s.conn.Exec(t.Context(), "INSERT INTO schema_steps (number, name) VALUES (9999, 'later')"); err != nil {
		t.Fatal(err)
	}
	if err := s.Migrate(t.Context()); err == nil || !strings.Contains(err.Error(), "9999") {
		t.Errorf("a later schema: %v", err)
	}
}

// A field of the contract has its column, and the views that exports, pages and
// analysts read show it.
func TestEveryFieldHasItsColumn(t *testing.T) {
	s := open(t)
	fields := func() (names []string) {
		for _, f := range event.Fields() {
			names = append(names, f.Column)
		}
		return names
	}()
	builds := func() (names []string) {
		for _, f := range event.BuildFields() {
			names = append(names, "build_"+f.Column)
		}
		return names
	}()
	for _, c := range []struct {
		table, otherwise string
		want             []string
	}{
		{"entries", "add a migration", fields},
		{"shots_all", "make the view anew in the migration that adds the column", fields},
		{"shots", "make the view anew in that migration, after shots_all", fields},
		{"trials", "add a migration", builds},
		{"trial_rows", "make the view anew in the migration that adds the column", builds},
	} {
		var there []string
		if err := s.conn.QueryRow(t.Context(),
			"SELECT groupArray(name) FROM system.columns WHERE database = currentDatabase() AND table = ?", c.table).Scan(&there); err != nil {
			t.Fatal(err)
		}
		for _, name := range c.want {
			if !slices.Contains(there, name) {
				t.Errorf("%s has no column %s: %s", c.table, name, c.otherwise)
			}
		}
	}
}

func TestEntriesReturnAsTheyWereWritten(t *testing.T) {
	s := open(t)
	ctx := t.Context()
	var rows []EntryRow
	for seq := uint64(1); seq <= 50; seq++ {
		if seq == 7 || seq == 20 || seq == 21 {
			continue
		}
		rows = append(rows, entryRow(seq, 5))
	}
	for range 2 { // a repeated insert changes nothing
		if err := s.InsertEntries(ctx, rows); err != nil {
			t.Fatal(err)
		}
	}
	stored, err := s.Stored(ctx, place, "00000000000000aa", 0)
	if err != nil {
		t.Fatal(err)
	}
	if got := fmt.Sprint(stored); got != "[{1 6} {8 19} {22 50}]" {
		t.Errorf("stored %s", got)
	}
	if above, err := s.Stored(ctx, place, "00000000000000aa", 30); err != nil || fmt.Sprint(above) != "[{31 50}]" {
		t.Errorf("stored above 30: %v, %v", above, err)
	}
	entries, err := s.WholeBetween(ctx, place, rows[2].Entry.EffectiveUnixNs, rows[4].Entry.EffectiveUnixNs)
	if err != nil || len(entries) != 3 || string(entries[0].Entry.Raw) != "line 3" {
		t.Fatalf("%v, %v", entries, err)
	}
	if all, err := s.All(ctx, place); err != nil || len(all) != len(rows) {
		t.Errorf("without bounds: %d, %v", len(all), err)
	}
	of, err := s.Of(ctx, place, []event.ShotID{rows[0].Entry.ID(), rows[9].Entry.ID()})
	if err != nil || len(of) != 2 {
		t.Errorf("by id: %v, %v", of, err)
	}
	prints, err := s.Fingerprints(ctx, place)
	if err != nil || len(prints) != len(rows) {
		t.Errorf("%d fingerprints, %v", len(prints), err)
	}
	if n, err := s.CountEntries(ctx, place); err != nil || n != uint64(len(rows)) {
		t.Errorf("%d entries, %v", n, err)
	}

	// The higher version counts, whichever came last.
	moved := entryRow(1, 9)
	moved.Tag.Trial = "t2"
	if err := s.InsertEntries(ctx, []EntryRow{moved}); err != nil {
		t.Fatal(err)
	}
	if err := s.InsertEntries(ctx, []EntryRow{entryRow(1, 6)}); err != nil {
		t.Fatal(err)
	}
	var where string
	if err := s.conn.QueryRow(ctx, "SELECT trial FROM entries FINAL WHERE seq = 1").Scan(&where); err != nil || where != "t2" {
		t.Errorf("trial %q, %v", where, err)
	}
}

// Promise 7: SQL over the entries gives the same numbers as the trial's row.
func TestTrialRowEqualsSQL(t *testing.T) {
	s := open(t)
	ctx := t.Context()
	var rows []EntryRow
	var shots []trial.Shot
	for seq := uint64(1); seq <= 23; seq++ {
		r := entryRow(seq, 1)
		rows = append(rows, r)
		shots = append(shots, trial.Shot{Values: r.Values, Counts: true, Effective: r.Tag.At, Order: int(seq), Device: "alder"})
	}
	if err := s.InsertEntries(ctx, rows); err != nil {
		t.Fatal(err)
	}
	row := TrialRow{Studio: place.Studio, Bay: place.Bay, Session: "s1", Trial: "t1", Part: 1, Version: 1,
		Build: &event.Build{Name: "own", Specs: []*event.Spec{{Field: event.BuildField_BUILD_LENGTH, Number: 0.94}}}, Row: trial.Compute(shots)}
	if err := s.InsertTrials(ctx, []TrialRow{row}); err != nil {
		t.Fatal(err)
	}
	const question = `SELECT toFloat64(t.n) - e.n, t.carry_mean_m - e.carry, t.scatter_cc_m2 - e.cc, t.scatter_co_m2 - e.co,
			t.direction_ss_deg2 - e.dd, t.fields.mean[indexOf(t.fields.field, 12)] - e.spin, t.build_length_m
		FROM trials AS t FINAL, (
			SELECT toFloat64(count()) AS n, avg(carry_m) AS carry, varPop(carry_m) * n AS cc, covarPop(carry_m, offline_m) * n AS co,
				varPop(direction_deg) * n AS dd, avg(spin_rate_rpm) AS spin
			FROM entries FINAL WHERE trial = 't1' AND status = 'counts') AS e
		WHERE t.trial = 't1'`
	var n, carry, cc, co, dd, spin float64
	var length *float64
	if err := s.conn.QueryRow(ctx, question).Scan(&n, &carry, &cc, &co, &dd, &spin, &length); err != nil {
		t.Fatal(err)
	}
	for name, d := range map[string]float64{"n": n, "carry": carry, "cc": cc, "co": co, "direction": dd, "spin": spin} {
		if math.Abs(d) > 1e-9*math.Max(1, row.Row.CarryCarry) {
			t.Errorf("%s differs by %g", name, d)
		}
	}
	if length == nil || *length != 0.94 {
		t.Errorf("length %v", length)
	}
	if keys, err := s.TrialKeys(ctx, place.Studio, place.Bay, "s1"); err != nil || len(keys) != 1 || keys[0] != (TrialKey{"s1", "t1", 1}) {
		t.Errorf("%v, %v", keys, err)
	}
}

func TestFloorsAndJournals(t *testing.T) {
	s := open(t)
	ctx := t.Context()
	if err := s.InsertEntries(ctx, []EntryRow{entryRow(3, 1), entryRow(9, 1)}); err != nil {
		t.Fatal(err)
	}
	journals, err := s.Journals(ctx, place)
	if err != nil || journals["00000000000000aa"] != (gap.Range{From: 3, To: 9}) {
		t.Errorf("%v, %v", journals, err)
	}
	if err := s.CloseJournal(ctx, place, Floor{Journal: "00000000000000aa", Below: 9, Why: "disk died", Who: "ops"}); err != nil {
		t.Fatal(err)
	}
	floors, err := s.Floors(ctx, place)
	if err != nil || floors["00000000000000aa"].Below != 9 {
		t.Errorf("%v, %v", floors, err)
	}
	places, err := s.Places(ctx)
	if err != nil || len(places) != 1 || places[0] != place {
		t.Errorf("%v, %v", places, err)
	}
}

func TestReplicatedSchemaParses(t *testing.T) {
	s := open(t)
	steps, err := Migrations()
	if err != nil {
		t.Fatal(err)
	}
	tables := 0
	for _, step := range steps {
		for _, statement := range step.Statements {
			changed := Replicated(statement, "studio")
			if strings.Contains(statement, "MergeTree") {
				tables++
				if !strings.Contains(changed, "ON CLUSTER 'studio'") || !strings.Contains(changed, "Replicated") {
					t.Errorf("not replicated:\n%s", changed)
				}
			}
			rows, err := s.conn.Query(t.Context(), "EXPLAIN AST "+changed)
			if err != nil {
				t.Errorf("%v\n%s", err, changed)
				continue
			}
			rows.Close()
		}
	}
	if tables == 0 {
		t.Error("no table was checked")
	}
}
