package collector

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
)

// intake takes what feeds read into the journal.
type intake struct {
	journal *journal.Journal
	place   stream.Place
	clock   *clock
	metrics *metrics
	log     *slog.Logger

	mu    sync.Mutex
	feeds map[string]*feedState
	full  error // why nothing is taken at the moment
	// uncertain counts entries whose time is only known as an interval.
	uncertain uint64
}

// feedState is what the bay says of one feed.
type feedState struct {
	source          feed.Source
	stopped         string // why the source gave up; empty while it runs
	lines, rejected uint64
	last            time.Time
	skews           skews
	early           early // in this boot
	exports         exports
	look            look   // the last one of an earlier life
	lookBoot        string // in which its steady time holds
	ordered         bool   // its lines come in the order in which they were written
	floor           int64  // hub time that the last line was not written before
	numbers         feed.Numbers
	latest          latest
	end             context.CancelFunc // of the source's life
	rewind          []byte             // where it has to begin again; nil: where it was
	rewinds         bool
}

func (in *intake) feed(name string) *feedState {
	f, ok := in.feeds[name]
	if !ok {
		f = &feedState{}
		in.feeds[name] = f
	}
	return f
}

// take makes a batch of one feed durable. It returns only when it is, or when
// ctx ends: while the disk is full or fails, the device waits.
func (in *intake) take(ctx context.Context, name string, b feed.Batch) error {
	entries := make([]*event.Entry, len(b.Drafts))
	records := make([]journal.Record, len(b.Drafts))
	m := in.clock.now()
	if ago := time.Since(b.Seen); !b.Seen.IsZero() && ago > 0 {
		m.wall, m.mono = m.wall-int64(ago), m.mono-ago
	}
	in.exported(name, &b, m)
	for i, d := range b.Drafts {
		entries[i] = in.finish(name, d, &b, m)
		payload, err := proto.Marshal(entries[i])
		if err != nil {
			return fmt.Errorf("feed %s line %d: %w", name, entries[i].Line, err)
		}
		records[i].Payload = payload
	}
	if b.Position != nil && len(records) > 0 {
		records[len(records)-1].Positions = []journal.Position{{Feed: name, Data: b.Position}}
	}
	if err := in.append(ctx, records, b.Position != nil); err != nil {
		return err
	}
	in.count(name, entries)
	return nil
}

// finish fills in what only the bay knows. m is when the batch was read.
func (in *intake) finish(name string, d feed.Draft, b *feed.Batch, m moment) *event.Entry {
	e := d.Entry
	e.Contract = event.Contract
	in.mu.Lock()
	f := in.feed(name)
	f.ordered = b.Position != nil && !b.Export
	l := in.after(f, b, m)
	if d.OtherUnixNs != 0 && l.live && m.synced {
		e.DeviceUnixNs = f.skews.nearest(e.DeviceUnixNs, d.OtherUnixNs, m.hub(m.mono))
	}
	t := f.time(e.DeviceUnixNs, l, m)
	f.passed(t)
	if t.certainty == event.Certainty_CERTAINTY_UNSURE {
		in.clock.setUnmet()
	}
	if t.latest != 0 {
		in.uncertain++
	}
	in.mu.Unlock()
	e.Boot, e.ReadMonoNs, e.SeenMonoNs = in.clock.steady.Boot, int64(m.mono), int64(l.mono)
	e.EarliestUnixNs, e.LatestUnixNs = t.earliest, t.latest
	in.metrics.times.WithLabelValues(timeWord(t)).Inc()
	return d.Finish(feed.Stamp{
		Studio: in.place.Studio, Bay: in.place.Bay, Feed: name,
		Received: time.Unix(0, m.wall), Effective: time.Unix(0, t.effective), Certainty: t.certainty,
		Numbers: &f.numbers,
	})
}

// timeWord says how a time is known.
func timeWord(t timing) string {
	switch {
	case t.certainty == event.Certainty_CERTAINTY_UNSURE:
		return "unmet"
	case t.certainty == event.Certainty_CERTAINTY_DEVICE:
		return "device"
	case t.latest != 0:
		return "between"
	}
	return "live"
}

// append retries until the records are durable. The journal never acknowledges
// what may not be; a group that failed is given again whole, and identity by
// shot id makes a repeat harmless. A device that asks (HTTP) is told at once
// that there is no room; one that only writes (files) is waited for.
func (in *intake) append(ctx context.Context, records []journal.Record, patient bool) error {
	wait := 50 * time.Millisecond
	for {
		begun := time.Now()
		_, err := in.journal.Append(ctx, records...)
		if err == nil {
			in.metrics.append.Observe(time.Since(begun).Seconds())
			in.setFull(nil)
			return nil
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if errors.Is(err, journal.ErrClosed) || errors.Is(err, journal.ErrTooLarge) {
			return err
		}
		in.setFull(err)
		if !patient {
			return fmt.Errorf("%w: %w", feed.ErrFull, err)
		}
		if !sleep(ctx, wait) {
			return ctx.Err()
		}
		wait = min(2*wait, time.Second)
	}
}

// setFull notes that the journal takes nothing, and says so once.
func (in *intake) setFull(err error) {
	in.mu.Lock()
	defer in.mu.Unlock()
	if (err == nil) == (in.full == nil) {
		in.full = err
		return
	}
	in.full = err
	if err != nil {
		in.metrics.full.Set(1)
		in.log.Error("nothing is taken from devices until the journal can be written: free disk space or see the disk's health", "error", err)
		return
	}
	in.metrics.full.Set(0)
	in.log.Info("the journal can be written again")
}

func (in *intake) count(name string, entries []*event.Entry) {
	rejected := uint64(0)
	for _, e := range entries {
		if e.Valid() {
			in.metrics.journalled.WithLabelValues(name, "shot").Inc()
			continue
		}
		rejected++
		in.metrics.journalled.WithLabelValues(name, "rejected").Inc()
		in.metrics.rejected.WithLabelValues(name, faultLabel(e.Faults[0])).Inc()
	}
	in.metrics.lines.WithLabelValues(name).Add(float64(len(entries)))
	in.mu.Lock()
	defer in.mu.Unlock()
	f := in.feed(name)
	f.lines += uint64(len(entries))
	f.rejected += rejected
	f.latest.add(entries)
	f.last = time.Now()
}

// faultLabel keeps the label bounded: fields of the contract by name, all else as one.
func faultLabel(f *event.Fault) string {
	if _, ok := event.FieldNamed(f.Field); ok {
		return f.Field
	}
	return "line"
}
