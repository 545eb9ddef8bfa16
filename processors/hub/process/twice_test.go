package process

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"fairlead/deploy/proof"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
)

// What only a person can part is found, named, and costs no shot: one device read
// by two bays, and two collectors under one bay's name. And a mark of the log that
// somebody changed is alarmed, and hurts nothing.
func TestWhatOnlyAPersonCanPart(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y := b.bay("north")
	b.startHub()
	y.say(opened())
	y.say(started("north-1", 30))
	y.hit(4)
	b.whole()

	t.Run("a mark changed", func(t *testing.T) {
		b.stopHub()
		marks, err := b.store.LogMarks(t.Context(), b.studio)
		if err != nil {
			t.Fatal(err)
		}
		mark := marks[stream.Shots]
		mark.Stream, mark.Seq, mark.Sent = stream.Shots, mark.Seq+500, time.Now()
		if err := b.store.SetLogMark(t.Context(), b.studio, mark); err != nil {
			t.Fatal(err)
		}
		b.startHub()
		b.until("the alarm", func() bool { return b.metric("fairlead_log_set_back_total", stream.Shots) > 0 })
		found(t, 20)
		y.hit(2)
		b.whole()
		b.until("the mark is the log's again", func() bool {
			marks, err := b.store.LogMarks(context.Background(), b.studio)
			return err == nil && marks[stream.Shots].Seq < mark.Seq
		})
		healed(t, 20)
	})

	t.Run("two collectors in one name", func(t *testing.T) {
		other := *y
		other.device, other.file, other.journal = "alder-north", filepath.Join(b.dir, "second.csv"), filepath.Join(b.dir, "journal-second")
		other.machine, other.lines = "pc-second", 0
		if err := os.WriteFile(other.file, []byte("id,carry,offline,ball\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		other.start()
		total := func() int { return y.lines + other.lines }
		stored := func() bool { return y.stored() == total() }
		for range 3 { // one never goes back to a journal that it left
			y.hit(1)
			other.hit(1)
			b.until("both are stored", stored)
			proof.Pause(t, 1100*time.Millisecond)
		}
		beside, err := b.store.Beside(t.Context(), y.place)
		if err != nil || len(beside) != 1 {
			t.Fatalf("side by side: %v, %v", beside, err)
		}
		r := b.found(func(b audit.Bay) bool { return b.Beside == 1 && b.Duplicate+b.Mistagged == 0 })
		if !slices.ContainsFunc(r.Bays[0].Examples, func(x string) bool { return strings.Contains(x, "do two collectors run as bay north?") }) {
			t.Errorf("it is not named: %q", r.Bays[0].Examples)
		}
		other.stop()
		b.untilStored("every shot counts", func() bool { return b.trialN("north-1") == total() })
	})

	t.Run("one device, two bays", func(t *testing.T) {
		b.stopHub()
		quay := *y
		quay.place.Bay, quay.journal, quay.machine = "quay", filepath.Join(b.dir, "journal-quay"), "pc-quay"
		b.bays = append(b.bays, &quay)
		quay.start()
		b.startHub()
		quay.say(opened())
		quay.say(started("quay-1", 30))
		quay.hit(3)
		y.lines = quay.lines
		b.untilStored("both have them", func() bool { return b.trialN("quay-1") >= 3 && y.stored() >= y.lines })
		r := b.found(func(b audit.Bay) bool { return b.Shared >= 3 })
		if r.Bays[1].Shared < 3 {
			t.Errorf("the other bay: %+v", r.Bays[1])
		}
		found(t, 21)
	})
}

// found audits until the first bay's report is as wanted.
func (b *bench) found(wanted func(audit.Bay) bool) (r audit.Report) {
	b.t.Helper()
	nc, js := b.connect()
	a := audit.Auditor{Conn: nc, JS: js, Store: b.store, Wait: 2 * time.Second, Tags: true, Again: 200 * time.Millisecond}
	b.until("the audit finds it", func() bool {
		r = b.audit(a)
		return r.Wrong() && wanted(r.Bays[0])
	})
	return r
}
