package process

import (
	"context"
	"testing"

	"fairlead/ingest/log/stream"
)

// Rows that the store refuses are set aside with the reason; the shot's number
// is taken by a rejected row, its neighbours and the other bay go on. A stored
// entry that nobody can decode comes again from its journal.
func TestARefusedRowStopsNoBay(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y, z := b.bay("north"), b.bay("quay")
	exec := func(statement string) {
		t.Helper()
		if err := b.store.Conn().Exec(context.Background(), statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(3)
	z.hit(3)
	y.arrived()
	z.arrived()
	// The device's shots carry 150 + i%9 m, i from 1.
	exec("ALTER TABLE entries ADD CONSTRAINT unlucky CHECK bay != 'north' OR carry_m IS NULL OR carry_m != 157")
	exec("ALTER TABLE trials ADD CONSTRAINT unlucky CHECK trial != 't2'")
	exec("ALTER TABLE visit_events ADD CONSTRAINT unlucky CHECK kind != 'shots_excluded'")
	y.hit(9) // the seventh is refused
	z.hit(9)
	b.untilStored("its neighbours count, and it does not", func() bool { return b.trialN("t1") == y.lines-1 && z.stored() == z.lines })
	b.until("its number has a row", func() bool {
		return y.stored() == y.lines && b.count("SELECT count() FROM entries FINAL WHERE bay = 'north' AND status = 'rejected' AND "+
			"position(faults, 'code 469') > 0") == 1
	})
	y.note(excluded("sky", y.ids(1, 1)))
	y.say(started("t2", 31))
	y.hit(2)
	b.untilStored("what came after is stored", func() bool { return y.stored() == y.lines })
	b.until("each is noted with its reason", func() bool {
		return b.count("SELECT uniqExact(of) FROM set_aside WHERE bay = 'north' AND position(reason, 'code 469') > 0") == 3
	})
	for _, table := range []string{"entries", "trials", "visit_events"} {
		if b.metric("fairlead_process_rows_set_aside_total", table) == 0 {
			t.Errorf("no alarm for %s", table)
		}
	}
	n, asides, err := b.store.Asides(t.Context(), y.place, 10)
	if err != nil || n == 0 || len(asides) != int(n) {
		t.Errorf("%d set aside, listed %v, %v", n, asides, err)
	}

	// A row whose entry is no entry any more, while the hub is away.
	b.stopHub()
	exec("ALTER TABLE entries UPDATE entry = unhex('fffe00') WHERE bay = 'quay' AND seq = 2 SETTINGS mutations_sync = 2")
	b.startHub()
	nc, _ := b.connect()
	b.until("it came again", func() bool {
		nudge(nc, z.place)
		return b.count("SELECT count() FROM entries WHERE entry = unhex('fffe00')") == 0 && z.stored() == z.lines
	})
	if n, _, err := b.store.Asides(t.Context(), stream.Place{Studio: b.studio, Bay: "quay"}, 1); err != nil || n != 1 {
		t.Errorf("%d noted of quay, %v", n, err)
	}
}
