package process

import (
	"context"
	"log/slog"
	"sync"

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
	for {
		c.mu.Lock()
		bay := c.latest[place]
		if bay == nil || ctx.Err() != nil {
			delete(c.latest, place)
			c.mu.Unlock()
			return
		}
		c.latest[place] = nil
		c.mu.Unlock()
		if err := c.watch.Check(ctx, place, bay.Heartbeat); err != nil && ctx.Err() == nil {
			c.log.Warn("what is stored can't be counted", "bay", place.Bay, "error", err)
		}
	}
}

// wait ends it: heartbeats come until the connection closes, after this.
func (c *checker) wait() {
	c.mu.Lock()
	c.ended = true
	c.mu.Unlock()
	c.running.Wait()
}
