package collector

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"
	dto "github.com/prometheus/client_model/go"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/event"
	"fairlead/ingest/feed"
	"fairlead/ingest/journal"
	"fairlead/ingest/stream"
)

// HeartbeatEvery is how often a bay reports.
const HeartbeatEvery = 10 * time.Second

// reporter sends heartbeats and follows the store's marks.
type reporter struct {
	place     stream.Place
	journal   *journal.Journal
	publisher *publisher
	intake    *intake
	clock     *clock
	metrics   *metrics
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
			if err := r.follow(ctx, nc); err != nil && ctx.Err() == nil {
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
	for _, info := range r.journal.Journals() {
		s := &event.JournalState{Journal: info.ID, First: info.First, Last: info.Last, Active: info.Active}
		for _, q := range info.Quarantined {
			if q.Records() > 0 {
				s.Quarantined = append(s.Quarantined, &event.Range{From: q.First, To: q.Last})
				quarantined += float64(q.Records())
			}
		}
		depth += float64(info.Last + 1 - info.First)
		h.Journals = append(h.Journals, s)
	}
	r.metrics.depth.Set(depth)
	r.metrics.quarantined.Set(quarantined)
	if free, err := r.journal.Free(); err == nil {
		h.FreeBytes = uint64(free)
		r.metrics.freeBytes.Set(float64(free))
	}
	n, oldest := r.publisher.unsent(time.Now())
	h.Unsent, h.OldestUnsentNs = n, int64(oldest)
	r.metrics.unsent.Set(float64(n))
	r.metrics.oldestUnsent.Set(oldest.Seconds())
	if o, ok := r.clock.best(); ok {
		h.ClockOffsetNs = int64(r.clock.mono()+o.Ahead) - now.UnixNano()
		h.ClockRttNs = max(int64(o.RTT), 1)
		r.metrics.clockOffset.Set(float64(h.ClockOffsetNs) / 1e9)
		r.metrics.clockRTT.Set(o.RTT.Seconds())
	}
	r.feeds(h)
	h.Counters = samples(r.gatherer)
	return h
}

func (r *reporter) feeds(h *event.Heartbeat) {
	r.intake.mu.Lock()
	defer r.intake.mu.Unlock()
	h.Full = r.intake.full != nil
	for name, f := range r.intake.feeds {
		s := &event.FeedState{Feed: name, Lines: f.lines, Rejected: f.rejected}
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
		if s.State == feed.StateStopped {
			up = 0
		}
		r.metrics.feedUp.WithLabelValues(name).Set(up)
	}
	slices.SortFunc(h.Feeds, func(a, b *event.FeedState) int { return strings.Compare(a.Feed, b.Feed) })
}

// follow asks the hub what the store holds: entries below may leave the journal
// after their retention, and a mark beyond our last seq says that this disk was
// set back to an earlier state, so that its numbers are used up.
func (r *reporter) follow(ctx context.Context, nc *nats.Conn) error {
	request := &event.MarksRequest{}
	last := map[string]uint64{}
	for _, info := range r.journal.Journals() {
		request.Journals = append(request.Journals, info.ID)
		last[info.ID] = info.Last
	}
	data, err := proto.Marshal(request)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	msg, err := nc.RequestWithContext(ctx, r.place.MarksSubject(), data)
	if err != nil {
		return err
	}
	var reply event.MarksReply
	if err := proto.Unmarshal(msg.Data, &reply); err != nil {
		return err
	}
	var problems []error
	for _, m := range reply.Marks {
		r.journal.SetFloor(m.Journal, m.StoredBelow)
		if m.Journal == r.journal.ID() && m.Highest > last[m.Journal] {
			reason := fmt.Sprintf("the store holds seq %d, this disk only %d: it was set back to an earlier state", m.Highest, last[m.Journal])
			r.log.Warn("beginning a new journal", "journal", m.Journal, "reason", reason)
			problems = append(problems, r.journal.Rotate(reason))
		}
	}
	_, err = r.journal.Trim(r.clock.wall().Add(-r.retention))
	return errors.Join(append(problems, err)...)
}

// samples flattens the registry for the hub: counters and gauges as they are,
// histograms as sum and count. Names keep their labels.
func samples(g prometheus.Gatherer) map[string]float64 {
	out := map[string]float64{}
	families, err := g.Gather()
	if err != nil {
		return out
	}
	for _, family := range families {
		if !strings.HasPrefix(family.GetName(), "fairlead_") {
			continue
		}
		for _, m := range family.Metric {
			name := family.GetName() + labels(m)
			switch {
			case m.Counter != nil:
				out[name] = m.Counter.GetValue()
			case m.Gauge != nil:
				out[name] = m.Gauge.GetValue()
			case m.Histogram != nil:
				out[family.GetName()+"_sum"+labels(m)] = m.Histogram.GetSampleSum()
				out[family.GetName()+"_count"+labels(m)] = float64(m.Histogram.GetSampleCount())
			}
		}
	}
	return out
}

func labels(m *dto.Metric) string {
	if len(m.Label) == 0 {
		return ""
	}
	var parts []string
	for _, l := range m.Label {
		parts = append(parts, fmt.Sprintf("%s=%q", l.GetName(), l.GetValue()))
	}
	return "{" + strings.Join(parts, ",") + "}"
}
