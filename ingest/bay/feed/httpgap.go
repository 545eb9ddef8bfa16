package feed

import (
	"context"
	"math"
	"sync"
	"time"
)

const (
	tickEvery = 100 * time.Millisecond
	stalled   = 400 * time.Millisecond // without a tick for so long: the process stood still
	// How long after a stretch in which nothing was taken a line may still be one
	// of that stretch: requests wait in the system's queue, devices try again.
	queuedFor  = 2 * time.Second
	triedAgain = time.Minute
)

// gap is the last stretch in which an HTTP feed took nothing.
type gap struct {
	since func() time.Duration

	mu      sync.Mutex
	from    time.Duration // when it was last known to take lines before; 0: not since it was made
	until   time.Duration // lines that come before this may be of it
	refused bool          // it refuses still
	tick    time.Duration // the latest
}

// open begins: devices may bring what they could not bring before.
func (g *gap) open() {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.since()
	g.from, g.until, g.refused, g.tick = g.tick, now+triedAgain, false, now
}

// watch notes stretches in which the process stood still, until ctx ends.
func (g *gap) watch(ctx context.Context) {
	ticker := time.NewTicker(tickEvery)
	defer ticker.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
			g.mu.Lock()
			g.look(g.since())
			g.mu.Unlock()
		}
	}
}

func (g *gap) look(now time.Duration) {
	if now-g.tick > stalled {
		g.begin(g.tick, now, now+queuedFor)
	}
	g.tick = max(g.tick, now)
}

// begin joins a stretch to the last one where that still matters.
func (g *gap) begin(from, now, until time.Duration) {
	if now >= g.until {
		g.from = from
	}
	g.until = max(g.until, until)
}

// after is what a line that comes now was written after, and 0 when that is
// not known.
func (g *gap) after() time.Duration {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.since()
	g.look(now)
	if now < g.until {
		return g.from
	}
	return now
}

// refuse and take note what became of lines.
func (g *gap) refuse() {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.since()
	g.begin(now, now, math.MaxInt64)
	g.refused = true
}

func (g *gap) take() {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.refused {
		g.refused, g.until = false, g.since()+triedAgain
	}
}

// looked is when all that had been brought was taken.
func (g *gap) looked() time.Duration {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.refused {
		return g.from
	}
	return g.tick
}
