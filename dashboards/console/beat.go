package console

import (
	"context"
	"log/slog"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/relay"
	"fairlead/ingest/log/steady"
	"fairlead/ingest/log/stream"
)

// beatEvery is how often the console reports its journal, as a bay does.
const beatEvery = 10 * time.Second

// reporter speaks for the console's journal: the hub counts what of it is
// stored and asks for what is missing.
type reporter struct {
	place     stream.Place
	journal   *journal.Journal
	publisher *relay.Publisher
	metrics   *metrics
	gatherer  prometheus.Gatherer
	version   string
	now       func() time.Time
	clock     *steady.Hub
	log       *slog.Logger
}

// run reports until ctx ends.
func (r *reporter) run(ctx context.Context, nc *nats.Conn) {
	for {
		if data, err := proto.Marshal(r.heartbeat()); err == nil && nc.IsConnected() {
			if err := nc.Publish(r.place.HealthSubject(), data); err != nil {
				r.log.Debug("heartbeat not sent", "error", err)
			}
			// Nothing is older than the beginning of time: visit events are kept for
			// ever, and only a disk that was set back is looked for.
			if err := relay.FollowMarks(ctx, nc, r.place, r.journal, time.Time{}, r.log); err != nil && ctx.Err() == nil {
				r.log.Debug("the hub did not tell what is stored", "error", err)
			}
		}
		wait := beatEvery
		if !nc.IsConnected() {
			wait = time.Second
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(wait):
		}
	}
}

func (r *reporter) heartbeat() *event.Heartbeat {
	now := r.now()
	h := &event.Heartbeat{Studio: r.place.Studio, Bay: r.place.Bay, SentUnixNs: now.UnixNano(), Version: r.version,
		Journals: relay.States(r.journal)}
	free, err := r.journal.Free()
	if err == nil {
		h.FreeBytes, h.Full = uint64(free), free == 0
		r.metrics.freeBytes.Set(float64(free))
	}
	// What a wall clock off the hub's is for a bay, it is for the hub's machine too.
	h.Boot, h.ClockOffsetNs, h.ClockRttNs = r.clock.Boot(), -int64(r.clock.Off()), 1
	n, oldest := r.publisher.Unsent(now)
	h.Unsent, h.OldestUnsentNs = n, int64(oldest)
	r.metrics.unsent.Set(float64(n))
	r.metrics.oldestUnsent.Set(oldest.Seconds())
	h.Counters = relay.Samples(r.gatherer)
	return h
}
