package collector

import (
	"context"
	"sync"
	"time"

	"github.com/nats-io/nats.go"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/steady"
	"fairlead/ingest/log/stream"
)

const (
	exchangeEvery  = 30 * time.Second
	exchangeRounds = 5
	// keepOffsets is how long an exchange with a short round trip is preferred
	// over a newer one with a longer: quartz drifts by some 10 ms in this time.
	keepOffsets = 10 * time.Minute
	// agree is how far two exchanges may differ beyond their round trips. If they
	// differ by more, the machine stood still with its clock (a virtual one that
	// was halted) and the older says nothing any more.
	agree = 50 * time.Millisecond
	// stepped is how far wall and steady clock may part between two looks before
	// the wall clock is said to have been set.
	stepped = time.Second
)

// clock gives hub time: the time since the machine's boot, which does not step,
// plus its offset to the hub.
type clock struct {
	steady steady.Clock
	wall   func() time.Time

	mu      sync.Mutex
	offsets []timedOffset
	known   *stream.Offset // of an earlier life in this boot, until the first exchange
	unmet   bool           // entries of this boot were taken before any offset was known
	parted  time.Duration  // wall less steady clock when last looked at
	steps   steps
}

// steps of the wall clock.
type steps struct {
	n  uint64
	by time.Duration // the latest, positive = forward
	at time.Duration // steady clock then
}

type timedOffset struct {
	stream.Offset
	at time.Duration
}

func newClock(s steady.Clock, wall func() time.Time) *clock {
	if s.Boot == "" { // good for this life alone, so its name must be of this life
		s.Boot = event.NewID(wall())
		s.Boot = s.Boot[len(s.Boot)-16:]
	}
	c := &clock{steady: s, wall: wall}
	c.parted = c.apart()
	return c
}

func (c *clock) mono() time.Duration { return c.steady.Since() }

func (c *clock) apart() time.Duration { return time.Duration(c.wall().UnixNano()) - c.mono() }

// best returns the offset in force.
func (c *clock) best() (o stream.Offset, ok bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, t := range c.offsets {
		if !ok || t.RTT < o.RTT {
			o, ok = t.Offset, true
		}
	}
	if !ok && c.known != nil {
		return *c.known, true
	}
	return o, ok
}

// met says whether the hub was asked in this life.
func (c *clock) met() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return len(c.offsets) > 0
}

// setUnmet notes that an entry of this boot was taken before the hub's clock was
// known: when it is, the hub has to be told.
func (c *clock) setUnmet() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.unmet = true
}

// moment is what the clocks say at one time.
type moment struct {
	wall   int64 // Unix ns
	mono   time.Duration
	ahead  int64 // hub's Unix ns less mono; good when synced
	synced bool
}

func (m moment) hub(mono time.Duration) int64 { return m.ahead + int64(mono) }

// now reads the clocks.
func (c *clock) now() moment {
	m := moment{wall: c.wall().UnixNano(), mono: c.mono()}
	if o, ok := c.best(); ok {
		m.ahead, m.synced = int64(o.Ahead), true
	}
	return m
}

// look notes steps of the wall clock.
func (c *clock) look() {
	c.mu.Lock()
	defer c.mu.Unlock()
	now := c.apart()
	if by := now - c.parted; by.Abs() > stepped {
		c.steps = steps{c.steps.n + 1, by, c.mono()}
	}
	c.parted = now
}

// exchange asks the hub for its time and keeps the answer.
func (c *clock) exchange(ctx context.Context, nc *nats.Conn) error {
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	o, err := stream.Exchange(ctx, nc, c.mono, exchangeRounds)
	if err != nil {
		return err
	}
	c.keepOffset(o)
	return nil
}

func (c *clock) keepOffset(o stream.Offset) {
	c.mu.Lock()
	defer c.mu.Unlock()
	at := c.mono()
	kept := []timedOffset{{o, at}}
	for _, t := range c.offsets {
		if t.Epoch == o.Epoch && at-t.at < keepOffsets && (t.Ahead-o.Ahead).Abs() <= agree+(t.RTT+o.RTT)/2 {
			kept = append(kept, t)
		}
	}
	c.offsets = kept
}

// keep exchanges until ctx ends: soon after each contact, then at intervals.
func (c *clock) keep(ctx context.Context, nc *nats.Conn) {
	wait := time.Duration(0)
	due := time.Duration(0)
	connected := false
	for sleep(ctx, wait) {
		wait = time.Second
		c.look()
		is := nc.IsConnected()
		if is && !connected {
			due = 0 // the hub may have been started anew meanwhile
		}
		connected = is
		if c.mono() >= due && is && c.exchange(ctx, nc) == nil {
			due = c.mono() + exchangeEvery
		}
		if !c.met() {
			wait = 100 * time.Millisecond
		}
	}
}

// sleep waits and says whether ctx still goes on.
func sleep(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return ctx.Err() == nil
	}
}
