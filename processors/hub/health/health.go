// Package health keeps what bays say of themselves, and what can be told from
// their silence, for metrics, pages and the gap watch.
package health

import (
	"cmp"
	"context"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
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
	// Heard is when a silent bay was heard last; zero: never.
	Heard time.Time
}

// Bays keeps the latest heartbeat of each bay. It may be used concurrently.
type Bays struct {
	now func() time.Time
	log *slog.Logger

	strangers atomic.Uint64 // heartbeats that were refused
	elsewhere []string      // studios whose bays are watched where they are

	mu   sync.Mutex
	bays map[stream.Place]Bay
	// Since when an expected bay is waited for that never spoke.
	expected map[stream.Place]time.Time
}

// New expects the given bays, and the consoles of their studios. Others are
// refused: a key makes no bay. Where none are named, whoever speaks is taken in.
func New(expected []stream.Place, now func() time.Time, log *slog.Logger) *Bays {
	b := &Bays{now: now, log: log, bays: map[stream.Place]Bay{}, expected: map[stream.Place]time.Time{}}
	for _, p := range expected {
		b.expected[p] = now()
	}
	return b
}

// beatsApart is the least time between two heartbeats of a bay.
const beatsApart = 50 * time.Millisecond

// Elsewhere names studios that send what they stored: what their bays' heartbeats
// say is not of this hub's bays.
func (b *Bays) Elsewhere(studios []string) { b.elsewhere = studios }

// Subscribe listens to heartbeats; heard is called for each, when not nil.
func (b *Bays) Subscribe(nc *nats.Conn, heard func(Bay)) (*nats.Subscription, error) {
	return nc.Subscribe("health.*.*", func(m *nats.Msg) {
		place, ok := stream.PlaceOf(m.Subject)
		if ok && slices.Contains(b.elsewhere, place.Studio) {
			return
		}
		if !ok || !b.knows(place) {
			b.strangers.Add(1)
			return
		}
		bay, ok := b.take(place, m.Data)
		if ok && heard != nil {
			heard(bay)
		}
	})
}

// askWithin is how long a bay may take to say how it stands.
const askWithin = 3 * time.Second

// Ask asks the expected bays and their studios' consoles how they stand, rather than
// to wait for their heartbeats: at a start, and when the broker came back, for then
// something may have been lost.
func (b *Bays) Ask(ctx context.Context, nc *nats.Conn, heard func(Bay)) {
	asked := map[stream.Place]bool{}
	for p := range b.expected {
		asked[p], asked[stream.Place{Studio: p.Studio, Bay: stream.ConsoleBay}] = true, true
	}
	ctx, cancel := context.WithTimeout(ctx, askWithin)
	defer cancel()
	var all sync.WaitGroup
	for p := range asked {
		all.Go(func() {
			m, err := nc.RequestWithContext(ctx, p.AskSubject(), nil)
			if err != nil {
				return // its heartbeat comes when it can
			}
			if bay, ok := b.take(p, m.Data); ok && heard != nil {
				heard(bay)
			}
		})
	}
	all.Wait()
}

// knows says whether a place is one of the configuration's.
func (b *Bays) knows(place stream.Place) bool {
	if _, ok := b.expected[place]; ok || len(b.expected) == 0 {
		return true
	}
	if place.Bay == stream.ConsoleBay {
		for p := range b.expected {
			if p.Studio == place.Studio {
				return true
			}
		}
	}
	return false
}

// take keeps a heartbeat that can be read and does not follow too closely.
func (b *Bays) take(place stream.Place, data []byte) (Bay, bool) {
	now := b.now()
	b.mu.Lock()
	defer b.mu.Unlock()
	if since := now.Sub(b.bays[place].Seen); since >= 0 && since < beatsApart {
		b.strangers.Add(1)
		return Bay{}, false
	}
	h := &event.Heartbeat{}
	if err := proto.Unmarshal(data, h); err != nil {
		b.strangers.Add(1)
		return Bay{}, false
	}
	trim(h)
	bay := Bay{Place: place, Heartbeat: h, Seen: now}
	b.bays[place] = bay
	return bay, true
}

// What of a heartbeat is looked at. A bay has some feeds, a journal for each
// disk it ever had, and few damaged stretches.
const (
	maxFeeds    = 64
	maxJournals = 256
	maxDamages  = 256
	maxDetail   = 500 // bytes
)

// trim cuts a heartbeat to what a bay can mean, so that one that lies costs the
// hub no more than one that does not.
func trim(h *event.Heartbeat) {
	h.Feeds = h.Feeds[:min(len(h.Feeds), maxFeeds)]
	h.Journals = h.Journals[:min(len(h.Journals), maxJournals)]
	for _, f := range h.Feeds {
		f.Feed, f.Detail = short(f.Feed), strings.ToValidUTF8(f.Detail[:min(len(f.Detail), maxDetail)], "")
	}
	for _, j := range h.Journals {
		j.Journal = short(j.Journal)
		j.Quarantined = j.Quarantined[:min(len(j.Quarantined), maxDamages)]
	}
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

// Heard is when each bay of a studio was heard last.
func (b *Bays) Heard(studio string) map[string]time.Time {
	out := map[string]time.Time{}
	for _, bay := range b.All() {
		if bay.Place.Studio == studio {
			out[bay.Place.Bay] = bay.Seen
		}
	}
	return out
}

// Recall tells when expected bays were heard by who listened before. What they said
// then is not known.
func (b *Bays) Recall(studio string, heard map[string]time.Time) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for name, at := range heard {
		p := stream.Place{Studio: studio, Bay: name}
		if _, spoke := b.bays[p]; !spoke && b.knows(p) && !at.After(b.now()) {
			b.bays[p] = Bay{Place: p, Heartbeat: &event.Heartbeat{}, Seen: at}
		}
	}
}

// Alarms lists what someone should look at now, by bay.
func (b *Bays) Alarms() []Alarm {
	now := b.now()
	var out []Alarm
	b.mu.Lock()
	for p, since := range b.expected {
		if _, spoke := b.bays[p]; !spoke && now.Sub(since) > SilentAfter {
			out = append(out, Alarm{Bay: p.Bay, What: "silent",
				Text: "never heard of since this hub started: is its collector running, and does it reach the broker?"})
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
		out = append(out, Alarm{Bay: bay.Place.Bay, What: what, Text: fmt.Sprintf(format, args...)})
	}
	if silent := now.Sub(bay.Seen); silent > SilentAfter {
		add("silent", "nothing heard for %s: is the bay's PC on, its collector running, the network up?", silent.Round(time.Second))
		out[len(out)-1].Heard = bay.Seen
	}
	console := bay.Place.Bay == consoleBay
	if late := time.Duration(h.OldestUnsentNs); late > LateAfter {
		waits := "%d entries wait to be sent, the oldest for %s: look at the network between bay and hub"
		if console {
			waits = "%d of what fitters entered wait for the log, the oldest for %s. They are kept: see the broker and its disk"
		}
		add("late", waits, h.Unsent, late.Round(time.Second))
	}
	disk, refuses := "the bay's", "nothing is taken from the devices"
	if console {
		disk, refuses = "the hub's", "what fitters enter is refused"
	}
	if h.Full {
		add("full", "%s: free space on %s disk", refuses, disk)
	} else if h.FreeBytes > 0 && h.FreeBytes < LowBytes {
		add("low", "%d MB left for the journal on %s disk: free space", h.FreeBytes>>20, disk)
	}
	if skew := time.Duration(h.ClockOffsetNs); h.ClockRttNs > 0 && skew.Abs() > SkewAfter && len(h.Feeds) == 0 && console {
		add("skew", "the hub's wall clock was set %s against the clock that shots and events go by, which does not step: times on pages and "+
			"papers are off by that until the machine is started again; do so when nobody is hitting", (-skew).Round(time.Second/10))
	} else if h.ClockRttNs > 0 && skew.Abs() > SkewAfter {
		add("skew", "the bay's clock is %s off the hub's: switch on time synchronisation there", (-skew).Round(time.Second/10))
	}
	if ago := time.Duration(h.SteppedAgoNs); h.Steps > 0 && ago < StepFor {
		add("step", "the bay's wall clock was set by %s, %s ago. Shots do not go by it; a device on that PC may, and then shots may be asked "+
			"about", time.Duration(h.SteppedNs).Round(time.Second/10), ago.Round(time.Minute))
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
			add("damaged", "journal %s lost entries %d to %d to a damaged disk: check the disk, then `fairlead audit --close %s`", j.Journal, q.From,
				q.To, j.Journal)
		}
	}
	return out
}
