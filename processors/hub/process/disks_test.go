package process

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
)

// shotsOnce checks that each shot written counts once, however often it was read.
func (y *bay) shotsOnce() {
	y.b.t.Helper()
	y.b.until("each shot counts once", func() bool {
		return y.b.count("SELECT uniqExact(shot_id) FROM entries FINAL WHERE bay = '"+y.place.Bay+"' AND status = 'counts'") == y.lines &&
			y.b.count("SELECT count() FROM entries FINAL WHERE bay = '"+y.place.Bay+"' AND status = 'counts'") == y.lines
	})
}

// The journal's disk died: the device's file is read again into a new journal.
// No shot counts twice; what only the dead disk could tell is unknown until
// somebody closes its journal.
func TestAFileReadAgainCountsOnce(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y := b.bay("north")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(25)
	y.arrived()
	first := b.whole()
	y.stop()
	if err := os.RemoveAll(y.journal); err != nil {
		t.Fatal(err)
	}
	y.hit(5) // written while no collector runs
	y.start()
	y.arrived()
	y.shotsOnce()
	nc, js := b.connect()
	a := audit.Auditor{Conn: nc, JS: js, Store: b.store, Wait: 2 * time.Second, Tags: true, Again: 200 * time.Millisecond}
	report, err := a.Run(context.Background(), b.studio, b.bayPlaces())
	if err != nil {
		t.Fatal(err)
	}
	if !report.Unknown() || report.Wrong() {
		t.Errorf("with a disk gone: %+v", report)
	}
	found(t, 19)
	if err := b.store.CloseJournal(context.Background(), y.place, floorOf(first.Bays[0].Journals[0])); err != nil {
		t.Fatal(err)
	}
	report = b.whole()
	if report.Bays[0].Repeats != 25 {
		t.Errorf("%d repeats, want the 25 that were read again", report.Bays[0].Repeats)
	}
	b.untilStored("the trial is right", func() bool { return b.trialN("t1") == y.lines })
}

// The bay's disk is set back to an older copy, as after a restored backup: the
// bay learns from the hub that its numbers are used up and begins a new journal.
func TestARestoredJournalLosesAndDoublesNothing(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y := b.bay("north")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(10)
	y.arrived()
	y.stop()
	old := filepath.Join(b.dir, "older-journal")
	if err := os.CopyFS(old, os.DirFS(y.journal)); err != nil {
		t.Fatal(err)
	}
	y.start()
	y.hit(20)
	b.whole()
	y.stop()
	if err := errors.Join(os.RemoveAll(y.journal), os.CopyFS(y.journal, os.DirFS(old))); err != nil {
		t.Fatal(err)
	}
	y.start()
	y.hit(10)
	b.whole()
	y.shotsOnce()
	// The lines read again may have got the numbers that they had, or others.
	if twice := b.count(claimedTwice); twice != 0 {
		b.until("the alarm", func() bool { return b.metric("fairlead_process_claimed_numbers", "") > 0 })
	}
	b.untilStored("the trial is right", func() bool { return b.trialN("t1") == y.lines })
	healed(t, 19)

	// A bit of a record flips that was sent: it is set aside, and the store has it.
	y.stop()
	y.flip(fmt.Sprintf("\n%d,", y.lines), fmt.Sprintf("%d,", y.lines))
	y.start()
	nc, _ := b.connect()
	b.until("the journal says what is damaged", func() bool {
		h, err := audit.Ask(t.Context(), nc, y.place, time.Second)
		return err == nil && slices.ContainsFunc(h.Journals, func(s *event.JournalState) bool { return len(s.Quarantined) > 0 })
	})
	found(t, 18)
	y.hit(1)
	b.whole()
	y.shotsOnce()
	healed(t, 18)
}

// flip turns a bit of the bay's newest journal file, in the raw line that begins so.
func (y *bay) flip(line ...string) {
	y.b.t.Helper()
	files, err := filepath.Glob(filepath.Join(y.journal, "*.journal"))
	if err != nil {
		y.b.t.Fatal(err)
	}
	for _, name := range slices.Backward(files) {
		text, err := os.ReadFile(name)
		if err != nil {
			y.b.t.Fatal(err)
		}
		for _, l := range line {
			if at := bytes.LastIndex(text, []byte(l)); at >= 0 {
				text[at+1] ^= 1
				if err := os.WriteFile(name, text, 0o600); err != nil {
					y.b.t.Fatal(err)
				}
				return
			}
		}
	}
	y.b.t.Fatalf("no journal holds %q", line)
}

// claimedTwice counts the numbers of journals that several shots claim.
const claimedTwice = "SELECT count() FROM (SELECT journal, seq FROM entries GROUP BY bay, journal, seq HAVING uniqExact(shot_id) > 1)"

// A disk is copied, and both copies write: in one machine's name two shots
// claim one number. Both are kept and count, and an alarm says so.
func TestTwoShotsThatClaimOneNumberAreKeptAndAlarmed(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y := b.bay("north")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(10)
	b.whole()
	y.stop()
	// The copy writes under the same machine's name into the same journal, as
	// virtual machines do that were copied with all they know.
	other := *y
	other.file, other.journal, other.device = filepath.Join(b.dir, "copy.csv"), filepath.Join(b.dir, "journal-copy"), y.device+"-copy"
	if err := errors.Join(os.CopyFS(other.journal, os.DirFS(y.journal)),
		os.WriteFile(other.file, []byte("id,carry,offline,ball\n"), 0o600)); err != nil {
		t.Fatal(err)
	}
	other.lines = 0
	y.hit(5)
	other.hit(5)
	// Where the hub can say in time what the store holds, the second begins a
	// journal of its own instead (as after a restored disk); here it can't.
	b.stopHub()
	other.start()
	b.until("the copy's shots are in the log", func() bool { return b.inLog(stream.Shots) >= 15 })
	other.stop()
	y.start()
	b.until("all are in the log", func() bool { return b.inLog(stream.Shots) >= 20 })
	b.startHub()
	b.untilStored("all are stored", func() bool { return y.stored() == 20 })
	b.until("the alarm", func() bool { return b.metric("fairlead_process_claimed_numbers", "") > 0 })
	b.untilStored("all count", func() bool { return b.trialN("t1") == 20 })
	nc, js := b.connect()
	a := audit.Auditor{Conn: nc, JS: js, Store: b.store, Wait: 2 * time.Second, Tags: true, Again: 200 * time.Millisecond}
	report, err := a.Run(context.Background(), b.studio, b.bayPlaces())
	if err != nil {
		t.Fatal(err)
	}
	if bay := report.Bays[0]; bay.Claimed == 0 || bay.Missing+bay.Duplicate+bay.Mistagged > 0 {
		t.Errorf("%+v", report)
	}
}
