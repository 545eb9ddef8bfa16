package studio

import (
	"fmt"
	"sync"

	"fairlead/ingest/bay/collector"
	"fairlead/ingest/bay/feed"
)

// trial watches a feed that another configuration reads from now on, until its
// first shot: if its lines are all refused, or it can't be opened, the bay goes
// back to the configuration of before.
type trial struct {
	passed func()
	back   func(why string)

	mu                sync.Mutex
	refused, unopened int
	over              bool
}

const (
	triedLines = 5 // refused lines in a row without one shot
	triedOpens = 3
)

// tried makes the source of a feed on trial.
func (c *Config) tried(b *Bay, f Feed, at *feedBench) collector.Feed {
	s := c.lazy(b, f, at.log)
	// Beside the reading: to go back ends the very feed that asks for it.
	s.trial = &trial{passed: func() { go at.passed(f.Name) }, back: func(why string) { go at.back(f.Name, why) }}
	return collector.Feed{Name: f.Name, Source: s}
}

// saw takes lines that are durable now.
func (t *trial) saw(drafts []feed.Draft) {
	if t == nil {
		return
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, d := range drafts {
		switch {
		case t.over:
			return
		case d.Entry.Valid():
			t.over = true
			t.passed()
		default:
			if t.refused++; t.refused >= triedLines {
				t.over = true
				why := fmt.Sprintf("its first %d lines were all refused", t.refused)
				if f := d.Entry.GetFaults(); len(f) > 0 {
					why += fmt.Sprintf(": %s %q %s", f[0].Field, f[0].Value, f[0].Reason)
				}
				t.back(why)
			}
		}
	}
}

// failed takes why the source can't be opened.
func (t *trial) failed(err error) {
	if t == nil {
		return
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.unopened++; t.unopened >= triedOpens && !t.over {
		t.over = true
		t.back(err.Error())
	}
}
