package studio

import (
	"context"
	"slices"
	"sync"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/processors/ask/guess"
)

// guard asks of the shots of a running feed whether they can be true together
// as the map reads them. Shots are never dropped for it: what it finds is said
// in the feed's state, and from there in health and on the bay's page.
type guard struct {
	wake chan struct{}

	mu     sync.Mutex
	m      *feed.Map
	recent []*event.Entry // the latest shots, oldest first
	since  int            // shots since it was last asked
	doubt  string
}

const (
	guardedShots = 40 // looked at together
	guardedFrom  = 8  // fewer say nothing
	guardedEvery = 10 // new shots between two looks
)

func newGuard() *guard { return &guard{wake: make(chan struct{}, 1)} }

// begin starts anew, with the map that is read with from here on.
func (g *guard) begin(m *feed.Map) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.m, g.recent, g.since, g.doubt = m, nil, 0, ""
}

// add takes in what was read and is durable.
func (g *guard) add(drafts []feed.Draft) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.m == nil {
		return
	}
	for _, d := range drafts {
		if e := d.Entry; e.Valid() && !e.Deleted && e.Role == g.m.Role() && e.MapVersion == g.m.Version() {
			g.recent = append(g.recent, e)
			g.since++
		}
	}
	g.recent = slices.Delete(g.recent, 0, max(0, len(g.recent)-guardedShots))
	if len(g.recent) >= guardedFrom && g.since >= guardedEvery {
		select {
		case g.wake <- struct{}{}:
		default:
		}
	}
}

// run looks until ctx ends, beside the reading, which never waits for it.
func (g *guard) run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-g.wake:
		}
		g.mu.Lock()
		m, shots := g.m, slices.Clone(g.recent)
		g.since = 0
		g.mu.Unlock()
		var d guess.Doubts
		for _, e := range shots {
			d.Add(e)
		}
		said := ""
		if found := guess.Words(d.Suspicions(m)); len(found) > 0 {
			said = found[0] + "; correct the field map, then `fairlead feed reread` mends what is stored"
		}
		g.mu.Lock()
		if g.m == m {
			g.doubt = said
		}
		g.mu.Unlock()
	}
}

func (g *guard) says() string {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.doubt
}
