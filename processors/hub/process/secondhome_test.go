package process

import (
	"os"
	"path/filepath"
	"testing"
)

// The hub's disk dies with all that stood on it: log, store and the console's
// journal. The bay has its shots, and copies of what the fitter did: all of it
// comes back, each shot under its trial, without a hand.
func TestTheHubLosesItsDisk(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y := b.bay("north")
	b.startHub()
	y.day()
	b.whole()
	said := b.console.seq
	b.until("the bay keeps copies of all events", func() bool { return b.metric("fairlead_visits_copies", "north") == float64(said) })
	good := b.checksums()

	b.stopHub()
	b.console.stop()
	b.broker.kill()
	if err := os.RemoveAll(b.broker.dir); err != nil {
		t.Fatal(err)
	}
	for _, table := range []string{"entries", "trials", "verdicts", "visit_events", "log_marks"} {
		if err := b.store.Conn().Exec(t.Context(), "TRUNCATE TABLE "+table); err != nil {
			t.Fatal(err)
		}
	}
	b.broker.start()
	b.console = consoleIn(b, filepath.Join(b.dir, "visits-anew"))
	b.startHub()
	nc, _ := b.connect()
	b.until("the trials are as they were", func() bool {
		nudge(nc, y.place)
		nudge(nc, b.console.place)
		return b.checksums()[1] == good[1]
	})
	if b.console.seq != said {
		t.Errorf("%d events came back, %d had been said", b.console.seq, said)
	}
	if n := b.metric("fairlead_visits_taken_back_total", ""); int(n) != said {
		t.Errorf("%g events are said to have come back", n)
	}
	b.whole()
}
