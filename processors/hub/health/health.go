// Package health keeps what bays say of themselves, and what can be told from
// their silence, for metrics, pages and the gap watch.
package health

import (
	"cmp"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

const (
	// SilentAfter is how long a bay may say nothing: three heartbeats.
	SilentAfter = 30 * time.Second
	// LateAfter is how old the oldest unsent entry may get.
	LateAfter = 30 * time.Second
	// SkewAfter is how far a bay's wall clock may be off. Effective times do not
	// suffer from it, but times that people read do.
	SkewAfter = 2 * time.Second
	// StepFor is how long a step of a bay's wall clock is spoken of.
	StepFor = time.Hour
	// consoleBay is the name under which the console reports (process.ConsoleBay).
	consoleBay = "console"
	// LowBytes is how little room a bay's disk may have above its reserve.
	LowBytes = 1 << 30
)

// Bay is what is known of a bay.
type Bay struct {
	Place     stream.Place
	Heartbeat *event.Heartbeat // the latest; not to be changed
	Seen      time.Time        // hub's clock
}

// Alarm is one thing that someone should look at.
type Alarm struct {
	Bay  string
	What string // silent, late, full, low, skew, step, feed, damaged
	Text string // what is wrong and what to try
}

// Bays keeps the latest heartbeat of each bay. It may be used concurrently.
type Bays struct {
	now func() time.Time
	log *slog.Logger

	mu   sync.Mutex
	bays map[stream.Place]Bay
	// Since when an expected bay is waited for that never spoke.
	expected map[stream.Place]time.Time
}

// New expects the given bays; others are taken in when they speak.
func New(expected []stream.Place, now func() time.Time, log *slog.Logger) *Bays {
	b := &Bays{now: now, log: log, bays: map[stream.Place]Bay{}, expected: map[stream.Place]time.Time{}}
	for _, p := range expected {
		b.expected[p] = now()
	}
	return b
}

// Subscribe listens to heartbeats; heard is called for each, when not nil.
func (b *Bays) Subscribe(nc *nats.Conn, heard func(Bay)) (*nats.Subscription, error) {
	return nc.Subscribe("health.*.*", func(m *nats.Msg) {
		h := &event.Heartbeat{}
		place, ok := stream.PlaceOf(m.Subject)
		if err := proto.Unmarshal(m.Data, h); err != nil || !ok {
			b.log.Warn("unreadable heartbeat", "subject", m.Subject, "error", err)
			return
		}
		bay := Bay{Place: place, Heartbeat: h, Seen: b.now()}
		b.mu.Lock()
		b.bays[place] = bay
		b.mu.Unlock()
		if heard != nil {
			heard(bay)
		}
	})
}

// All lists the bays that spoke, by name.
func (b *Bays) All() []Bay {
	b.mu.Lock()
	defer b.mu.Unlock()
	out := make([]Bay, 0, len(b.bays))
	for _, bay := range b.bays {
		out = append(out, bay)
	}
	slices.SortFunc(out, func(x, y Bay) int { return cmp.Compare(x.Place.String(), y.Place.String()) })
	return out
}

// Alarms lists what someone should look at now, by bay.
func (b *Bays) Alarms() []Alarm {
	now := b.now()
	var out []Alarm
	b.mu.Lock()
	for p, since := range b.expected {
		if _, spoke := b.bays[p]; !spoke && now.Sub(since) > SilentAfter {
			out = append(out, Alarm{p.Bay, "silent", "never heard of since this hub started: is its collector running, and does it reach the broker?"})
		}
	}
	b.mu.Unlock()
	for _, bay := range b.All() {
		out = append(out, bay.alarms(now)...)
	}
	slices.SortFunc(out, func(x, y Alarm) int { return cmp.Or(cmp.Compare(x.Bay, y.Bay), cmp.Compare(x.What, y.What)) })
	return out
}

func (bay Bay) alarms(now time.Time) (out []Alarm) {
	h := bay.Heartbeat
	add := func(what, format string, args ...any) {
		out = append(out, Alarm{bay.Place.Bay, what, fmt.Sprintf(format, args...)})
	}
	if silent := now.Sub(bay.Seen); silent > SilentAfter {
		add("silent", "nothing heard for %s: is the bay's PC on, its collector running, the network up?", silent.Round(time.Second))
	}
	if late := time.Duration(h.OldestUnsentNs); late > LateAfter {
		add("late", "%d entries wait to be sent, the oldest for %s: look at the network between bay and hub", h.Unsent, late.Round(time.Second))
	}
	if h.Full {
		add("full", "nothing is taken from the devices: free space on the bay's disk")
	} else if h.FreeBytes > 0 && h.FreeBytes < LowBytes {
		add("low", "%d MB left for the journal on the bay's disk: free space", h.FreeBytes>>20)
	}
	if skew := time.Duration(h.ClockOffsetNs); h.ClockRttNs > 0 && skew.Abs() > SkewAfter && len(h.Feeds) == 0 && bay.Place.Bay == consoleBay {
		add("skew", "the hub's wall clock was set %s against the clock that shots and events go by, which does not step: times on pages and papers are off by that until the machine is started again; do so when nobody is hitting", (-skew).Round(time.Second/10))
	} else if h.ClockRttNs > 0 && skew.Abs() > SkewAfter {
		add("skew", "the bay's clock is %s off the hub's: switch on time synchronisation there", (-skew).Round(time.Second/10))
	}
	if ago := time.Duration(h.SteppedAgoNs); h.Steps > 0 && ago < StepFor {
		add("step", "the bay's wall clock was set by %s, %s ago. Shots do not go by it; a device on that PC may, and then shots may be asked about", time.Duration(h.SteppedNs).Round(time.Second/10), ago.Round(time.Minute))
	}
	for _, f := range h.Feeds {
		if f.State == "stopped" {
			add("feed", "feed %s stopped: %s", f.Feed, f.Detail)
		}
		for _, t := range feedTroubles(f) {
			add("feed", "feed %s %s", f.Feed, t)
		}
	}
	for _, j := range h.Journals {
		for _, q := range j.Quarantined {
			add("damaged", "journal %s lost entries %d to %d to a damaged disk: check the disk, then `fairlead audit --close %s`", j.Journal, q.From, q.To, j.Journal)
		}
	}
	return out
}
