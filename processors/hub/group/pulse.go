package group

import (
	"context"
	"fmt"
	"sync"
	"time"
)

const (
	// stuckAfter is how long something may wait and nothing of it get to the head office.
	stuckAfter = time.Minute
	// hungAfter is how long the loop may stand: it asks and sends for seconds at a time,
	// and at the least rate a message takes a quarter of a minute.
	hungAfter = 2 * time.Minute
)

// Pulse knows whether a forwarding gets on. A nil one takes note of nothing.
type Pulse struct {
	now func() time.Time

	mu       sync.Mutex
	turned   time.Time // when the loop last turned; zero: it has not begun
	advanced time.Time // when something was last sent, or nothing waited
	waits    uint64
	trouble  string
}

// NewPulse makes the pulse of a forwarding that has not begun.
func NewPulse() *Pulse { return &Pulse{now: time.Now} }

func (p *Pulse) turn(waits uint64, trouble string) {
	if p == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	if p.turned.IsZero() || waits < p.waits || waits == 0 && trouble == "" {
		p.advanced = now
	}
	p.turned, p.waits, p.trouble = now, waits, trouble
}

// sent notes that the head office took something.
func (p *Pulse) sent() {
	if p == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.turned, p.advanced = p.now(), p.now()
}

// Stuck says why, where something waits and none of it gets to the head office.
func (p *Pulse) Stuck(ctx context.Context) error {
	if err := p.Hung(ctx); err != nil {
		return err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	since := p.now().Sub(p.advanced)
	if p.turned.IsZero() || p.waits == 0 && p.trouble == "" || since < stuckAfter {
		return nil
	}
	why := p.trouble
	if why == "" {
		why = "the head office takes nothing"
	}
	return fmt.Errorf("no progress for %s with %d waiting: %s", since.Round(time.Second), p.waits, why)
}

// Hung says since when the loop stands, where it does.
func (p *Pulse) Hung(context.Context) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if since := p.now().Sub(p.turned); !p.turned.IsZero() && since > hungAfter {
		return fmt.Errorf("its loop stands since %s", since.Round(time.Second))
	}
	return nil
}
