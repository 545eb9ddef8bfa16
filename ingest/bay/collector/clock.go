package collector

import (
	"context"
	"sync"
	"time"

	"github.com/nats-io/nats.go"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

const (
	exchangeEvery  = 30 * time.Second
	exchangeRounds = 5
	// keepOffsets is how long an exchange with a short round trip is preferred
	// over a newer one with a longer: quartz drifts by some 10 ms in this time.
	keepOffsets = 10 * time.Minute
	// asleep is how far wall and monotonic clock may part before the machine is
	// taken to have slept, which stops the monotonic one.
	asleep = 2 * time.Second
)

// clock gives effective time: a monotonic clock plus its offset to the hub.
type clock struct {
	start time.Time
	wall  func() time.Time

	mu      sync.Mutex
	offsets []timedOffset
	last    time.Time     // wall clock when last looked at
	lastAt  time.Duration // monotonic clock then
}

type timedOffset struct {
	stream.Offset
	at time.Duration
}

func newClock(wall func() time.Time) *clock {
	return &clock{start: time.Now(), wall: wall}
}

func (c *clock) mono() time.Duration { return time.Since(c.start) }

// best returns the offset in force.
func (c *clock) best() (o stream.Offset, ok bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, t := range c.offsets {
		if !ok || t.RTT < o.RTT {
			o, ok = t.Offset, true
		}
	}
	return o, ok
}

// now reads the wall clock and the effective time.
func (c *clock) now() (received, effective int64, certainty event.Certainty) {
	wall := c.wall().UnixNano()
	if o, ok := c.best(); ok {
		return wall, int64(c.mono() + o.Ahead), event.Certainty_CERTAINTY_SYNCED
	}
	return wall, wall, event.Certainty_CERTAINTY_UNSURE
}

// slept forgets the offsets when the machine was suspended.
func (c *clock) slept() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	wall, mono := time.Now().Round(0), c.mono() // Round strips the monotonic reading
	slept := !c.last.IsZero() && wall.Sub(c.last)-(mono-c.lastAt) > asleep
	c.last, c.lastAt = wall, mono
	if slept {
		c.offsets = nil
	}
	return slept
}

// exchange asks the hub for its time and keeps the answer.
func (c *clock) exchange(ctx context.Context, nc *nats.Conn) error {
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	o, err := stream.Exchange(ctx, nc, c.mono, exchangeRounds)
	if err != nil {
		return err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	at := c.mono()
	kept := []timedOffset{{o, at}}
	for _, t := range c.offsets {
		if at-t.at < keepOffsets {
			kept = append(kept, t)
		}
	}
	c.offsets = kept
	return nil
}

// keep exchanges until ctx ends: soon after each contact, then at intervals.
func (c *clock) keep(ctx context.Context, nc *nats.Conn) {
	wait := time.Duration(0)
	due := time.Duration(0)
	for sleep(ctx, wait) {
		wait = time.Second
		if c.slept() {
			due = 0
		}
		if c.mono() >= due && nc.IsConnected() && c.exchange(ctx, nc) == nil {
			due = c.mono() + exchangeEvery
		}
		if _, ok := c.best(); !ok {
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
