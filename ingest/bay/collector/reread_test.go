package collector

import (
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
)

// TestARunningCollectorReadsAgain: what would change is said first, then it is
// done and reaches the log; the first readings stay in the journal.
func TestARunningCollectorReadsAgain(t *testing.T) {
	b := newBay(t)
	stop := b.collect("journal", "")
	b.write(1, 10)
	b.entries(10)
	dir := filepath.Join(b.dir, "journal")
	r := Reread{MapName: "willow.yaml", Map: strings.Replace(fieldMap, "carry, unit: m", "carry, unit: yd", 1), Feed: "ball",
		At: time.Unix(1000, 0)}
	log := slog.New(slog.DiscardHandler)
	report, err := AskReread(t.Context(), north, dir, r, log)
	if err != nil || report.Lines != 10 || report.Changed != 10 || report.Added != 10 || report.Written || len(report.Fields) != 1 ||
		report.Fields[0].Field != "carry" {
		t.Fatalf("what would change: %+v, %v", report, err)
	}
	r.Write, r.At = true, time.Unix(2000, 0)
	if report, err = AskReread(t.Context(), north, dir, r, log); err != nil || !report.Written {
		t.Fatalf("done: %+v, %v", report, err)
	}
	got := b.entries(20)
	for i := range 10 {
		was, is := got[i], got[10+i]
		a, _ := was.Get(event.Field_FIELD_CARRY)
		c, _ := is.Get(event.Field_FIELD_CARRY)
		if is.ID() != was.ID() || is.RereadUnixNs != 2000e9 || c != a*.9144 || is.EffectiveUnixNs != was.EffectiveUnixNs ||
			is.MapVersion == was.MapVersion {
			t.Fatalf("line %d: %v, was %v", i, is, was)
		}
	}
	stop()
	// Without a collector it is done on the spot, and nothing is left to do.
	r.At = time.Unix(3000, 0)
	if report, err = AskReread(t.Context(), north, dir, r, log); err != nil || report.Same != 10 || report.Added != 0 {
		t.Errorf("again: %+v, %v", report, err)
	}
	r.Feed = "other"
	if _, err = AskReread(t.Context(), north, dir, r, log); err == nil || !strings.Contains(err.Error(), "no line of feed") {
		t.Errorf("a feed that is not there: %v", err)
	}
}
