package process

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"fairlead/deploy/proof"
	"fairlead/ingest/log/stream"
)

// A large backlog is published again after the broker's dedupe window has
// passed, under the ids that it had: each entry is stored once. Another bay hits
// meanwhile, and its shots do not wait for the backlog.
func TestABacklogPastTheDedupeWindowStarvesNobody(t *testing.T) {
	t.Parallel()
	n := proof.Cases(2000, 30000)
	b := newBench(t, setup{})
	y, z := b.bay("north"), b.bay("quay")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(n)
	z.hit(1)
	b.whole()
	before := b.checksums()
	// The window is as short as the broker allows, and over.
	_, js := b.connect()
	s, err := js.Stream(t.Context(), stream.Shots)
	if err != nil {
		t.Fatal(err)
	}
	config := s.CachedInfo().Config
	// Twice: the broker's sweep of old ids may run at once, while the window that was is
	// still in force, and then not again before that is over.
	for _, window := range []time.Duration{110 * time.Millisecond, 100 * time.Millisecond} {
		config.Duplicates = window
		if _, err := js.UpdateStream(t.Context(), config); err != nil {
			t.Fatal(err)
		}
	}
	proof.Pause(t, 500*time.Millisecond)
	// Who carries the journal forgets how far it was, and sends all of it again.
	y.stop()
	if err := os.Remove(filepath.Join(y.journal, "published.json")); err != nil {
		t.Fatal(err)
	}
	stored, consumed := z.lines, b.metric("fairlead_process_entries_consumed_total", "")
	y.start()
	var waits []time.Duration
	beside := 0 // shots of the other bay stored while the backlog was on its way
	for again := 0.0; again < float64(n); again = b.metric("fairlead_process_entries_consumed_total",
		"") - consumed - float64(z.lines-stored) {
		if len(waits) > n {
			t.Fatalf("%d messages in the log, %.0f consumed again: the backlog was not sent again", b.inLog(stream.Shots), again)
		}
		begun := time.Now()
		z.hit(1)
		z.arrived()
		waits = append(waits, time.Since(begun))
		if b.metric("fairlead_process_entries_consumed_total", "")-consumed < float64(n) {
			beside++
		}
	}
	if got := b.inLog(stream.Shots); got < uint64(2*n) {
		t.Fatalf("%d messages in the log: the backlog was not sent again", got)
	}
	b.whole()
	// A small backlog may be through before the store is asked once.
	if proof.Wanted() && beside == 0 {
		t.Errorf("no shot of the other bay was stored while the backlog was on its way")
	}
	slices.Sort(waits)
	if after := b.checksums(); after[0].Rows != before[0].Rows+uint64(z.lines-stored) {
		t.Errorf("%d entries, then %d with %d new ones", before[0].Rows, after[0].Rows, z.lines-stored)
	}
	result := map[string]any{"backlog": n, "shots_beside": beside, "shown_after_ms_median": ms(waits[len(waits)/2]),
		"shown_after_ms_longest": ms(waits[len(waits)-1])}
	t.Logf("%v", result)
	proof.Record(t, "backlog", result)
}

func ms(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
