package audit

import (
	"fmt"
	"io"
	"log/slog"
	"testing"
	"time"

	"go.uber.org/goleak"

	"fairlead/deploy/engine/enginetest"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/sink"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(enginetest.Wrap(m)) }

var north = stream.Place{Studio: "harbour-row", Bay: "north"}

// studioOf stores a session of two trials as the pipeline would have.
func studioOf(t *testing.T, shots int) *store.Store {
	t.Helper()
	s := store.New(enginetest.New(t).Open(t))
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	begin := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	var events []*event.VisitEvent
	for i, ev := range []*event.VisitEvent{
		{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p", Hand: event.Hand_HAND_RIGHT, Category: "iron"}}},
		{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t1", Build: &event.Build{Name: "one"}}}},
		{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t2", Build: &event.Build{Name: "two"}}}},
	} {
		ev.Contract, ev.Studio, ev.Bay, ev.Session, ev.Visit, ev.Id = 1, north.Studio, north.Bay, "s", "v", fmt.Sprint("e", i)
		ev.Journal, ev.Seq = "00000000000000cc", uint64(i+1)
		ev.EffectiveUnixNs = begin.Add(time.Duration(i*shots/2) * time.Second).UnixNano()
		ev.RecordedUnixNs = ev.EffectiveUnixNs
		events = append(events, ev)
	}
	if err := s.InsertEvents(t.Context(), events); err != nil {
		t.Fatal(err)
	}
	var rows []store.EntryRow
	for i := 1; i <= shots; i++ {
		id := event.ShotIDFor("alder", fmt.Sprint(i))
		at := begin.Add(time.Duration(i)*time.Second + time.Millisecond).UnixNano()
		e := &event.Entry{Contract: 1, Studio: north.Studio, Bay: north.Bay, Journal: "00000000000000aa", Seq: uint64(i), ShotId: id[:], Device: "alder",
			Raw: fmt.Appendf(nil, "line %d", i), ReceivedUnixNs: at, EffectiveUnixNs: at, Certainty: event.Certainty_CERTAINTY_SYNCED,
			Measures: []*event.Measure{{Field: event.Field_FIELD_CARRY, Value: 150 + float64(i%7)}, {Field: event.Field_FIELD_OFFLINE, Value: float64(i%5) - 2}}}
		values := shot.Of(e, shot.Frame{})
		rows = append(rows, store.EntryRow{Entry: e, Tag: &tag.Tag{Situation: &tag.Situation{}, Status: tag.Nobody, At: at}, Values: &values})
	}
	if err := s.InsertEntries(t.Context(), rows); err != nil {
		t.Fatal(err)
	}
	log := slog.New(slog.NewTextHandler(io.Discard, nil))
	var all sink.Rows
	if err := sink.Recompute(t.Context(), s, north, log, func(r sink.Rows) error {
		all.Entries, all.Trials = append(all.Entries, r.Entries...), append(all.Trials, r.Trials...)
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if err := s.InsertEntries(t.Context(), all.Entries); err != nil {
		t.Fatal(err)
	}
	if err := s.InsertTrials(t.Context(), all.Trials); err != nil {
		t.Fatal(err)
	}
	return s
}

// What a hand changes in the tables is found, and made right again; what is
// right is left alone.
func TestRowsThatAHandChanged(t *testing.T) {
	defer func(was time.Duration) { lookAgain = was }(lookAgain)
	lookAgain = time.Millisecond
	s := studioOf(t, 40)
	exec := func(statement string) {
		t.Helper()
		if err := s.Conn().Exec(t.Context(), statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
	const synced = " SETTINGS mutations_sync = 2"
	sums := func() []Checksum {
		t.Helper()
		sums, err := Checksums(t.Context(), s)
		if err != nil {
			t.Fatal(err)
		}
		return sums
	}
	if wrong, err := Rows(t.Context(), s, north, false); err != nil || len(wrong) > 0 {
		t.Fatalf("before any damage: %v, %v", wrong, err)
	}
	good := sums()
	for _, c := range []struct {
		name string
		do   []string
		want int
		what string
	}{
		{"a value", []string{"ALTER TABLE entries UPDATE carry_m = 300 WHERE seq = 7" + synced}, 1, "altered"},
		{"put under another trial", []string{"ALTER TABLE entries UPDATE trial = 't2' WHERE seq IN (3, 4)" + synced}, 2, "altered"},
		{"a forged row of a high version", []string{"INSERT INTO entries SELECT * REPLACE (999999999999999999 AS version, 250 AS carry_m) FROM entries FINAL WHERE seq = 9"}, 1, "altered"},
		{"trial rows deleted", []string{"ALTER TABLE trials DELETE WHERE 1" + synced}, 2, "lost"},
		{"a trial's sum", []string{"ALTER TABLE trials UPDATE n = 99 WHERE trial = 't1'" + synced}, 1, "altered"},
		{"a forged trial", []string{"INSERT INTO trials SELECT * REPLACE ('t9' AS trial, 'other' AS session) FROM trials FINAL WHERE n > 0 LIMIT 1"}, 1, "forged"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, statement := range c.do {
				exec(statement)
			}
			wrong, err := Rows(t.Context(), s, north, true)
			if err != nil || len(wrong) != c.want || wrong[0].What != c.what {
				t.Fatalf("%v, %v; want %d %s", wrong, err, c.want, c.what)
			}
			if now := sums(); fmt.Sprint(now) != fmt.Sprint(good) {
				t.Errorf("mended to %v, it was %v", now, good)
			}
		})
	}
}
