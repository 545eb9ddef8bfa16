package collector

import (
	"context"
	"log/slog"
	"slices"
	"strings"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/copies"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/relay"
	"fairlead/ingest/log/stream"
)

// HeartbeatEvery is how often a bay reports.
const HeartbeatEvery = 10 * time.Second

// reporter sends heartbeats and follows the store's marks.
type reporter struct {
	place     stream.Place
	journal   *journal.Journal
	publisher *relay.Publisher
	intake    *intake
	clock     *clock
	metrics   *metrics
	visits    *copies.Copies // of visit events; nil: none are kept
	gatherer  prometheus.Gatherer
	retention time.Duration
	version   string
	log       *slog.Logger
}

// run beats until ctx ends: at once, and then at the interval.
func (r *reporter) run(ctx context.Context, nc *nats.Conn) {
	for {
		r.beat(nc)
		if nc.IsConnected() {
			if err := relay.FollowMarks(ctx, nc, r.place, r.journal, r.clock.wall().Add(-r.retention), r.log); err != nil && ctx.Err() == nil {
				r.log.Debug("the hub did not tell what is stored", "error", err)
			}
		}
		wait := HeartbeatEvery
		if !nc.IsConnected() {
			wait = time.Second // so that the first contact is not ten seconds late
		}
		if !sleep(ctx, wait) {
			return
		}
	}
}

func (r *reporter) beat(nc *nats.Conn) {
	h := r.heartbeat()
	data, err := proto.Marshal(h)
	if err == nil && nc.IsConnected() {
		err = nc.Publish(r.place.HealthSubject(), data)
	}
	if err != nil {
		r.log.Debug("heartbeat not sent", "error", err)
	}
}

// heartbeat gathers the bay's state and sets the gauges from it.
func (r *reporter) heartbeat() *event.Heartbeat {
	now := r.clock.wall()
	h := &event.Heartbeat{Studio: r.place.Studio, Bay: r.place.Bay, SentUnixNs: now.UnixNano(), Version: r.version}
	var quarantined, depth float64
	h.Journals = relay.States(r.journal)
	for _, s := range h.Journals {
		for _, q := range s.Quarantined {
			quarantined += float64(q.To - q.From + 1)
		}
		depth += float64(s.Last + 1 - s.First)
	}
	r.metrics.depth.Set(depth)
	r.metrics.quarantined.Set(quarantined)
	if free, err := r.journal.Free(); err == nil {
		h.FreeBytes = uint64(free)
		r.metrics.freeBytes.Set(float64(free))
	}
	n, oldest := r.publisher.Unsent(time.Now())
	h.Unsent, h.OldestUnsentNs = n, int64(oldest)
	r.metrics.unsent.Set(float64(n))
	r.metrics.oldestUnsent.Set(oldest.Seconds())
	if o, ok := r.clock.best(); ok {
		h.ClockOffsetNs = int64(r.clock.mono()+o.Ahead) - now.UnixNano()
		h.ClockRttNs = max(int64(o.RTT), 1)
		r.metrics.clockOffset.Set(float64(h.ClockOffsetNs) / 1e9)
		r.metrics.clockRTT.Set(o.RTT.Seconds())
	}
	r.times(h)
	r.feeds(h)
	if r.visits != nil {
		h.KeptEvents, h.KeptSum = r.visits.State()
	}
	h.Counters = relay.Samples(r.gatherer)
	return h
}

// times says how the clocks stand.
func (r *reporter) times(h *event.Heartbeat) {
	c := r.clock
	h.Boot = c.steady.Boot
	if o, ok := c.best(); ok {
		h.BootAheadNs = int64(o.Ahead)
	}
	c.mu.Lock()
	h.Unmet = c.unmet && h.BootAheadNs != 0
	if h.Steps = c.steps.n; h.Steps > 0 {
		h.SteppedNs, h.SteppedAgoNs = int64(c.steps.by), int64(c.mono()-c.steps.at)
	}
	c.mu.Unlock()
	r.metrics.clockSteps.Set(float64(h.Steps))
	r.intake.mu.Lock()
	h.Uncertain = r.intake.uncertain
	r.intake.mu.Unlock()
}

func (r *reporter) feeds(h *event.Heartbeat) {
	r.intake.mu.Lock()
	defer r.intake.mu.Unlock()
	h.Full = r.intake.full != nil
	for name, f := range r.intake.feeds {
		s := &event.FeedState{Feed: name, Lines: f.lines, Rejected: f.rejected}
		counts := f.numbers.Counts()
		s.Reused, s.Revisions = counts.Reused, counts.Revisions
		if s.Latest, s.LatestRejected = f.latest.counts(); s.LatestRejected > 0 {
			s.LastFault = f.latest.lastFault
		}
		if f.source != nil {
			state := f.source.State()
			s.State, s.Detail = state.State, state.Detail
		}
		if f.stopped != "" {
			s.State, s.Detail = feed.StateStopped, f.stopped
		}
		if !f.last.IsZero() {
			s.LastLineUnixNs = f.last.UnixNano()
		}
		h.Feeds = append(h.Feeds, s)
		up := 1.0
		if s.State == feed.StateStopped || s.State == feed.StateAway {
			up = 0
		}
		r.metrics.feedUp.WithLabelValues(name).Set(up)
	}
	slices.SortFunc(h.Feeds, func(a, b *event.FeedState) int { return strings.Compare(a.Feed, b.Feed) })
}
