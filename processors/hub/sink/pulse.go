package sink

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"
)

const (
	// stuckAfter is how long a bay may have work and get none of it done.
	stuckAfter = 30 * time.Second
	// hungAfter is how long a bay's loop may stand: it turns every other second, or
	// says within a round that it got an answer of the store.
	hungAfter = time.Minute
)

// Pulse knows of each bay that this process serves whether its work gets done.
// That a port is open says nothing of it.
type Pulse struct {
	now func() time.Time

	mu   sync.Mutex
	bays map[string]*beat
}

// beat is how one bay goes.
type beat struct {
	looping  bool      // its loop runs; false: it is being taken over
	turned   time.Time // when the loop last turned
	advanced time.Time // when work was last done, or there was none
	waits    int       // entries, events and rows that wait
	trouble  string    // why it was given up last
}

// NewPulse makes a Pulse that knows no bay.
func NewPulse() *Pulse { return &Pulse{now: time.Now, bays: map[string]*beat{}} }

// change applies to a bay's beat; the first change begins it.
func (p *Pulse) change(bay string, do func(b *beat, now time.Time)) {
	if p == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	b := p.bays[bay]
	if b == nil {
		b = &beat{turned: now, advanced: now}
		p.bays[bay] = b
	}
	do(b, now)
}

// taking notes that a bay is being taken over: that is work, too.
func (p *Pulse) taking(bay string) {
	p.change(bay, func(b *beat, _ time.Time) { b.looping, b.waits = false, 1 })
}

// gaveUp notes why a bay has to be taken over again.
func (p *Pulse) gaveUp(bay string, err error) {
	p.change(bay, func(b *beat, _ time.Time) { b.looping, b.trouble = false, fmt.Sprint(err) })
}

// turned notes that a bay's loop turns, and how much waits.
func (p *Pulse) turned(bay string, waits int) {
	p.change(bay, func(b *beat, now time.Time) {
		if !b.looping || waits == 0 {
			b.advanced = now
		}
		b.looping, b.turned, b.waits = true, now, waits
	})
}

// works notes that a bay's loop is in the middle of a round and gets on with it: tens of
// thousands of shots take a machine that is out of breath minutes, and a process that is
// ended meanwhile has all of them to do again.
func (p *Pulse) works(bay string) { p.change(bay, func(b *beat, now time.Time) { b.turned = now }) }

// advanced notes that some of a bay's work is done.
func (p *Pulse) advanced(bay string) {
	p.change(bay, func(b *beat, now time.Time) { b.advanced, b.trouble = now, "" })
}

// failed notes what is in a bay's way.
func (p *Pulse) failed(bay string, err error) {
	p.change(bay, func(b *beat, _ time.Time) { b.trouble = fmt.Sprint(err) })
}

// left forgets a bay that another process serves.
func (p *Pulse) left(bay string) {
	if p != nil {
		p.mu.Lock()
		defer p.mu.Unlock()
		delete(p.bays, bay)
	}
}

// Stuck is an error that names the bays which have work and get none done.
func (p *Pulse) Stuck(context.Context) error {
	return p.find(func(b *beat, now time.Time) string {
		if b.waits == 0 || now.Sub(b.advanced) < stuckAfter {
			return ""
		}
		return fmt.Sprintf("no progress for %s with %d waiting: %s", now.Sub(b.advanced).Round(time.Second), b.waits, b.trouble)
	})
}

// Hung is an error that names the bays whose loop stands.
func (p *Pulse) Hung(context.Context) error {
	return p.find(func(b *beat, now time.Time) string {
		if !b.looping || now.Sub(b.turned) < hungAfter {
			return ""
		}
		return fmt.Sprintf("its loop stands since %s", now.Sub(b.turned).Round(time.Second))
	})
}

func (p *Pulse) find(what func(*beat, time.Time) string) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	var found []string
	for bay, b := range p.bays {
		if text := what(b, p.now()); text != "" {
			found = append(found, "bay "+bay+": "+text)
		}
	}
	if len(found) == 0 {
		return nil
	}
	slices.Sort(found)
	return errors.New(strings.Join(found, "; "))
}
