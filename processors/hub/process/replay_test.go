package process

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/deploy/engine/enginetest"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/sink"
	"fairlead/processors/hub/store"
)

// day lets a bay have two sessions' worth of moves, exclusions and voids.
func (y *bay) day() {
	y.say(opened())
	y.say(started(y.place.Bay+"-1", 30))
	y.hit(20)
	y.arrived()
	y.say(started(y.place.Bay+"-2", 32))
	y.hit(15)
	y.arrived()
	y.say(moved(y.place.Bay+"-1", y.ids(21, 23)))
	y.say(excluded("topped", y.ids(5, 6)))
	y.say(voided(y.say(excluded("wrong one", y.ids(9, 9)))))
}

// taggers lists the consumers of SHOTS.
func (b *bench) taggers(ctx context.Context, js jetstream.JetStream) (names []string, waiting uint64) {
	b.t.Helper()
	s, err := js.Stream(ctx, stream.Shots)
	if err != nil {
		b.t.Fatal(err)
	}
	list := s.ListConsumers(ctx)
	for info := range list.Info() {
		if strings.HasPrefix(info.Name, "tag-") {
			names = append(names, info.Name)
			waiting += info.NumPending + uint64(info.NumAckPending)
		}
	}
	if err := list.Err(); err != nil {
		b.t.Fatal(err)
	}
	return names, waiting
}

// The consumers are deleted, so that everything is delivered from the start
// again: while the hub runs, and while it does not. The tables stay the same to
// the bit, and a replay into an empty database gives them too.
func TestAFullReplayChangesNothing(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y, z := b.bay("north"), b.bay("quay")
	b.startHub()
	y.day()
	z.day()
	y.write("not,a,shot")
	b.whole()
	before := b.checksums()
	_, js := b.connect()
	ctx := context.Background()
	for _, running := range []bool{true, false} {
		if !running {
			b.stopHub()
		}
		old, _ := b.taggers(ctx, js)
		if len(old) != 2 {
			t.Fatalf("consumers %v, want one a bay", old)
		}
		for _, name := range old {
			if err := js.DeleteConsumer(ctx, stream.Shots, name); err != nil && !errors.Is(err, jetstream.ErrConsumerNotFound) {
				t.Fatal(err)
			}
		}
		consumed := 0.0
		if running {
			consumed = b.metric("fairlead_process_entries_consumed_total", "")
		} else {
			b.startHub()
		}
		all := float64(b.inLog(stream.Shots))
		b.until("everything was taken again", func() bool {
			now, waiting := b.taggers(ctx, js)
			return len(now) == 2 && waiting == 0 && b.metric("fairlead_process_entries_consumed_total", "") >= consumed+all
		})
		b.whole()
		if after := b.checksums(); !slices.Equal(before, after) {
			t.Errorf("running %v: the tables changed from %v to %v", running, before, after)
		}
	}
	b.replayed(before)
}

// replayed rebuilds the log in an empty database and compares.
func (b *bench) replayed(want []audit.Checksum) {
	b.t.Helper()
	fresh := store.New(enginetest.New(b.t).Open(b.t))
	ctx := context.Background()
	if err := fresh.Migrate(ctx); err != nil {
		b.t.Fatal(err)
	}
	_, js := b.connect()
	for _, y := range b.bays {
		if _, err := sink.Replay(ctx, js, fresh, y.place, b.log); err != nil {
			b.t.Fatal(err)
		}
	}
	got, err := audit.Checksums(ctx, fresh)
	if err != nil {
		b.t.Fatal(err)
	}
	if !slices.Equal(got, want) {
		b.t.Errorf("a replay gives %v, live are %v", got, want)
	}
}

// An older copy of the broker's folder is put back, while the hub runs and
// while nothing does: that is noticed, an alarm is raised, and the journals
// fill the log in again, so that even a replay finds everything.
func TestAnOlderLogIsNoticedAndFilledIn(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y, z := b.bay("north"), b.bay("quay")
	b.startHub()
	y.day()
	b.whole()
	b.broker.stop()
	old := filepath.Join(b.dir, "older")
	if err := os.CopyFS(old, os.DirFS(b.broker.dir)); err != nil {
		t.Fatal(err)
	}
	b.broker.start()
	z.day()
	y.hit(12)
	y.say(excluded("sky", y.ids(30, 30)))
	b.whole()
	for _, running := range []bool{true, false} {
		seq := b.lastInLog(stream.Shots)
		b.until("the hub remembers what it saw of the log", func() bool {
			marks, err := b.store.LogMarks(t.Context(), b.studio)
			return err == nil && marks[stream.Shots].Seq >= seq && marks[stream.Visits].Seq > 0
		})
		if !running {
			b.stopHub()
			y.stop()
			z.stop()
		}
		b.broker.stop()
		if err := errors.Join(os.RemoveAll(b.broker.dir), os.CopyFS(b.broker.dir, os.DirFS(old))); err != nil {
			t.Fatal(err)
		}
		b.broker.start()
		alarms := b.metric("fairlead_log_set_back_total", "")
		if !running {
			b.startHub()
			y.start()
			z.start()
			alarms = 0
		}
		y.hit(3) // new traffic must not hide it
		b.until("both alarms", func() bool { return b.metric("fairlead_log_set_back_total", "") >= alarms+2 })
		b.whole()
		b.until("the log is filled in", func() bool { return b.metric("fairlead_log_unfilled_journals", "") == 0 })
		b.logWhole()
		b.replayed(b.checksums())
	}
	if !b.said.has("the log is not what it was") {
		t.Error("nobody said so")
	}
}

func (b *bench) lastInLog(name string) uint64 {
	b.t.Helper()
	_, js := b.connect()
	s, err := js.Stream(context.Background(), name)
	if err != nil {
		b.t.Fatal(err)
	}
	return s.CachedInfo().State.LastSeq
}

// logWhole fails when the log lacks something of the journals.
func (b *bench) logWhole() {
	b.t.Helper()
	if lacks := b.logLacks(); lacks != "" {
		b.t.Error(lacks)
	}
}

// logLacks compares the log with the journals.
func (b *bench) logLacks() string {
	b.t.Helper()
	nc, js := b.connect()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	for _, y := range b.bays {
		h, err := audit.Ask(ctx, nc, y.place, 5*time.Second)
		if err != nil {
			return err.Error()
		}
		held, err := gap.InLog(ctx, js, stream.Shots, y.place.ShotsSubject())
		if err != nil {
			return err.Error()
		}
		for _, j := range h.Journals {
			if missing := held[j.Journal].Missing(j.First, j.Last); j.Last >= j.First && len(missing) > 0 {
				return fmt.Sprintf("bay %s: the log lacks %v of journal %s", y.place.Bay, missing, j.Journal)
			}
		}
	}
	held, err := gap.InLog(ctx, js, stream.Visits, "visits."+b.studio+".*")
	if err != nil {
		return err.Error()
	}
	for _, info := range b.console.journal.Journals() {
		if missing := held[info.ID].Missing(info.First, info.Last); len(missing) > 0 {
			return fmt.Sprintf("the log lacks visit events %v", missing)
		}
	}
	return ""
}
