package stream

import (
	"context"
	"slices"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// Quota bounds what one bay may say to the broker, whatever it says: entries,
// heartbeats, questions. A collector keeps below it by itself, so who goes beyond
// is a device gone mad, a program gone wrong or a stolen key. Zero: no bound.
type Quota struct {
	Messages int64         // a second, in the long run
	Bytes    int64         // a second, in the long run
	AtOnce   time.Duration // so many seconds' worth may come at once, as a backlog does
}

// DefaultQuota is a sixth of what a hub of two cores stores of all its bays; a bay
// in which one hits and hits says one entry a second.
func DefaultQuota() Quota { return Quota{Messages: 5000, Bytes: 4 << 20, AtOnce: 2 * time.Minute} }

const (
	// firstPause is how long a bay is cut off that says too much; each further time it
	// is twice as long, up to longestPause, until it was well for floodsFor.
	firstPause   = 30 * time.Second
	longestPause = 10 * time.Minute
	// floodsFor is how long a flood is told of after it ended.
	floodsFor = time.Hour
	// mostConnections of one bay at a time; a collector has two.
	mostConnections = 32
)

// Flood is a bay that was cut off because it said too much.
type Flood struct {
	Place Place
	Times int       // within the last hour, or since it was well for one
	Until time.Time // it is cut off
}

// said is what an account of the broker has said since it is there.
type said struct {
	messages, bytes int64
	connections     int
}

// meter counts what bays say and knows which are cut off.
type meter struct {
	quota Quota
	pause time.Duration // of the first time

	mu   sync.Mutex
	bays map[string]*metered // by account
}

// metered is one bay: what it may still say, and how often it was cut off.
type metered struct {
	place           Place
	messages, bytes float64
	seen            said
	at              time.Time // of the last look
	times           int
	until           time.Time
}

func newMeter(q Quota) *meter {
	return &meter{quota: q, pause: firstPause, bays: map[string]*metered{}}
}

// look takes what accounts have said until now and returns the bays that are to be
// cut off from now on.
func (m *meter) look(now time.Time, accounts map[string]said, places map[string]Place) (cut []Flood) {
	if m.quota.Messages == 0 {
		return nil
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	most := m.quota.AtOnce.Seconds()
	mostMessages, mostBytes := float64(m.quota.Messages)*most, float64(m.quota.Bytes)*most
	for name, place := range places {
		b := m.bays[name]
		if b == nil {
			b = &metered{place: place, messages: mostMessages, bytes: mostBytes, at: now}
			m.bays[name] = b
		}
		s := accounts[name]
		if s.messages < b.seen.messages || s.bytes < b.seen.bytes {
			b.seen = said{} // the account was made anew
		}
		passed := max(now.Sub(b.at).Seconds(), 0)
		b.messages = min(mostMessages, b.messages+passed*float64(m.quota.Messages)-float64(s.messages-b.seen.messages))
		b.bytes = min(mostBytes, b.bytes+passed*float64(m.quota.Bytes)-float64(s.bytes-b.seen.bytes))
		b.seen, b.at = s, now
		if now.Sub(b.until) > floodsFor {
			b.times = 0
		}
		if now.Before(b.until) || b.messages >= 0 && b.bytes >= 0 && s.connections <= mostConnections {
			continue
		}
		b.until = now.Add(min(m.pause<<min(b.times, 10), longestPause))
		b.times++
		// It comes back with a second's worth, and not with the whole debt.
		b.messages, b.bytes = float64(m.quota.Messages), float64(m.quota.Bytes)
		cut = append(cut, Flood{b.place, b.times, b.until})
	}
	return cut
}

// metered says whether what a key says is counted: those that other machines hold.
func (g Grant) metered() bool { return g.Role == RoleBay || g.Role == RoleStudio }

// without leaves out the grants of bays that are cut off at a time.
func (m *meter) without(grants []Grant, now time.Time) []Grant {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.DeleteFunc(grants, func(g Grant) bool {
		b := m.bays[g.account()]
		return g.metered() && b != nil && now.Before(b.until)
	})
}

// floods lists the bays that were cut off and are not well for an hour yet.
func (m *meter) floods(now time.Time) (out []Flood) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, b := range m.bays {
		if b.times > 0 && now.Sub(b.until) <= floodsFor {
			out = append(out, Flood{b.place, b.times, b.until})
		}
	}
	return out
}

// Pace keeps a collector below a quota.
type Pace struct{ messages, bytes *rate.Limiter }

// Pace is that of a quota, with room to spare for what is sent twice; nil where
// there is no bound.
func (q Quota) Pace() *Pace {
	if q.Messages == 0 {
		return nil
	}
	limiter := func(n int64) *rate.Limiter {
		return rate.NewLimiter(rate.Limit(0.9*float64(n)), max(1, int(0.8*float64(n)*q.AtOnce.Seconds())))
	}
	return &Pace{limiter(q.Messages), limiter(q.Bytes)}
}

// Wait returns when a batch may be sent, or when ctx ends.
func (p *Pace) Wait(ctx context.Context, batch []Message) error {
	if p == nil || len(batch) == 0 {
		return ctx.Err()
	}
	size := 0
	for _, m := range batch {
		size += len(m.Subject) + len(m.ID) + len(m.Data)
	}
	if err := p.messages.WaitN(ctx, min(len(batch), p.messages.Burst())); err != nil {
		return err
	}
	return p.bytes.WaitN(ctx, min(size, p.bytes.Burst()))
}
