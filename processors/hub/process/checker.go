package process

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"github.com/nats-io/nats.go"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/health"
)

// checker runs one gap check a bay at a time, for its latest heartbeat: a slow
// store must not pile them up.
type checker struct {
	watch *gap.Watch
	log   *slog.Logger

	mu      sync.Mutex
	ended   bool                         // a heartbeat that still comes begins nothing
	latest  map[stream.Place]*health.Bay // waits to be checked; nil: none, one runs
	running sync.WaitGroup
}

func newChecker(w *gap.Watch, log *slog.Logger) *checker {
	return &checker{watch: w, log: log, latest: map[stream.Place]*health.Bay{}}
}

// heard begins a check of what a heartbeat says, unless one of the bay runs already.
func (c *checker) heard(ctx context.Context, bay health.Bay) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.ended {
		return
	}
	_, busy := c.latest[bay.Place]
	c.latest[bay.Place] = &bay
	if !busy {
		c.running.Go(func() { c.run(ctx, bay.Place) })
	}
}

func (c *checker) run(ctx context.Context, place stream.Place) {
	var looked *health.Bay // at this one it is worth to look again
	for {
		c.mu.Lock()
		bay := c.latest[place]
		if bay == nil {
			bay = looked
		}
		if bay == nil || ctx.Err() != nil {
			delete(c.latest, place)
			c.mu.Unlock()
			return
		}
		c.latest[place] = nil
		c.mu.Unlock()
		again, err := c.watch.Check(ctx, place, bay.Heartbeat)
		if err != nil && ctx.Err() == nil {
			c.log.Warn("what is stored can't be counted", "bay", place.Bay, "error", err)
		}
		if looked = nil; again {
			looked = bay
			select {
			case <-ctx.Done():
			case <-time.After(c.pause(place)):
			}
		}
	}
}

// settleAfter is how long bays have after a break to send what is in doubt.
const settleAfter = 2 * time.Second

// askAfterBreaks asks at the start, and whenever the broker was away.
func askAfterBreaks(ctx context.Context, nc *nats.Conn, ask func()) {
	tick := time.NewTicker(500 * time.Millisecond)
	defer tick.Stop()
	lives, due := uint64(0), time.Now()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if now := nc.Stats().Reconnects; now != lives {
			lives, due = now, time.Now().Add(settleAfter)
		}
		if !due.IsZero() && time.Now().After(due) && nc.IsConnected() {
			due = time.Time{}
			ask()
		}
	}
}

const (
	// lookAgain is how soon a heartbeat is looked at again that left a doubt.
	lookAgain = time.Second
	// lookAgainElsewhere is how soon one of another studio is: forty come back at once, nobody
	// stands before their screens for it, and each look asks the broker four times.
	lookAgainElsewhere = 5 * time.Second
)

func (c *checker) pause(place stream.Place) time.Duration {
	if c.watch.Home == "" || place.Studio == c.watch.Home {
		return lookAgain
	}
	return lookAgainElsewhere
}

// wait ends it: heartbeats come until the connection closes, after this.
func (c *checker) wait() {
	c.mu.Lock()
	c.ended = true
	c.mu.Unlock()
	c.running.Wait()
}
