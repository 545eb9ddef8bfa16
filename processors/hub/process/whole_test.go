package process

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/hub/store"
)

// connect opens a connection of the test's own, with the hub's rights.
func (b *bench) connect() (*nats.Conn, jetstream.JetStream) {
	b.t.Helper()
	nc, js, err := stream.Connect(b.link("hub", stream.Place{}))
	if err != nil {
		b.t.Fatal(err)
	}
	b.stop = append(b.stop, nc.Close)
	return nc, js
}

// whole waits until the studio is whole: what every device wrote is stored
// once, as the journals and the visit events say, with nothing unknown. It
// fails when that does not come about by itself.
func (b *bench) whole() audit.Report {
	b.t.Helper()
	nc, js := b.connect()
	var places []stream.Place
	for _, y := range b.bays {
		places = append(places, y.place)
	}
	a := audit.Auditor{Conn: nc, JS: js, Store: b.store, Wait: 2 * time.Second, Tags: true, Again: 200 * time.Millisecond}
	deadline := time.Now().Add(2 * time.Minute)
	// An audit asks a lot of the store that the studio needs to become whole: not while
	// something is still lacking.
	for wait := 300 * time.Millisecond; ; wait = min(2*wait, 2*time.Second) {
		nudge(nc, b.console.place)
		for _, y := range b.bays {
			nudge(nc, y.place)
		}
		ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
		var report audit.Report
		problem := b.lacking(ctx)
		if problem == "" {
			var err error
			switch report, err = a.Run(ctx, b.studio, places); {
			case err != nil:
				problem = err.Error()
			case report.Wrong() || report.Unknown():
				problem = fmt.Sprintf("%+v", report)
			}
		}
		cancel()
		if problem == "" {
			return report
		}
		if time.Now().After(deadline) {
			b.t.Fatalf("not whole within two minutes: %s\n%s", problem, b.state())
		}
		proof.Pause(b.t, wait)
	}
}

// lacking compares the store with what the devices wrote and the fitter said.
func (b *bench) lacking(ctx context.Context) string {
	for _, y := range b.bays {
		rows, err := b.store.Conn().Query(ctx, "SELECT DISTINCT shot_id FROM entries WHERE studio = ? AND bay = ? AND faults = ''",
			y.place.Studio, y.place.Bay)
		if err != nil {
			return err.Error()
		}
		stored := map[event.ShotID]bool{}
		for rows.Next() {
			var id uuid.UUID
			if err := rows.Scan(&id); err != nil {
				return err.Error()
			}
			stored[event.ShotID(id)] = true
		}
		if err := rows.Err(); err != nil {
			return err.Error()
		}
		rows.Close()
		for i := 1; i <= y.lines; i++ {
			if !stored[y.id(i)] {
				return fmt.Sprintf("bay %s: shot %d of %d is not stored", y.place.Bay, i, y.lines)
			}
		}
		if len(stored) != y.lines {
			return fmt.Sprintf("bay %s: %d shots stored, %d written", y.place.Bay, len(stored), y.lines)
		}
	}
	var events uint64
	if err := b.store.Conn().QueryRow(ctx, "SELECT uniqExact(id) FROM visit_events WHERE studio = ?", b.studio).Scan(&events); err != nil {
		return err.Error()
	}
	if int(events) != b.console.seq {
		return fmt.Sprintf("%d visit events stored, %d said", events, b.console.seq)
	}
	return ""
}

// trialN reads a trial's n as the table says.
func (b *bench) trialN(trial string) int {
	var n uint32
	if b.store.Conn().QueryRow(context.Background(), "SELECT n FROM trials FINAL WHERE trial = ?", trial).Scan(&n) != nil {
		return -1
	}
	return int(n)
}

// checksums of what the pipeline wrote.
func (b *bench) checksums() []audit.Checksum {
	b.t.Helper()
	sums, err := audit.Checksums(context.Background(), b.store)
	if err != nil {
		b.t.Fatal(err)
	}
	return sums
}

// inLog counts messages of a stream.
func (b *bench) inLog(name string) uint64 {
	b.t.Helper()
	_, js := b.connect()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	s, err := js.Stream(ctx, name)
	if err != nil {
		b.t.Fatal(err)
	}
	return s.CachedInfo().State.Msgs
}

// inLogNow is inLog right after a broker came back: 0 when the stream is gone.
func (b *bench) inLogNow(name string) uint64 {
	_, js := b.connect()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	for ctx.Err() == nil {
		s, err := js.Stream(ctx, name)
		if errors.Is(err, jetstream.ErrStreamNotFound) {
			return 0
		}
		if err == nil {
			return s.CachedInfo().State.Msgs
		}
	}
	return 0
}

// countNow counts the stored shots right after an engine came back.
func (b *bench) countNow() int {
	total := 0
	for _, y := range b.bays {
		n := -1
		b.until("the store answers", func() bool { n = y.stored(); return n >= 0 })
		total += n
	}
	return total
}

func (b *bench) bayPlaces() (places []stream.Place) {
	for _, y := range b.bays {
		places = append(places, y.place)
	}
	return places
}

func floorOf(j audit.Journal) store.Floor {
	return store.Floor{Journal: j.Journal, Below: j.Last + 1, Why: "its disk died", Who: "test"}
}
