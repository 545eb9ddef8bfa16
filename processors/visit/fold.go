package visit

import (
	"fmt"
	"math"
	"slices"

	"fairlead/ingest/contract/event"
)

// folder is the state of a fold. The first pass walks the live events in order
// and cuts time into spans; the second applies what was said later about
// sessions, trials and shots, which may precede in time what it speaks of.
type folder struct {
	log     *Log
	t       *Timeline
	now     Span
	running map[*event.VisitEvent]*Trial // trial meant by an event that names none
	erased  []*Session
	resting []Span // what holds in sessions that are not hit in now, each to be taken up again
}

func fold(l *Log) *Timeline {
	all := l.order
	f := &folder{
		log: l,
		t: &Timeline{
			Events: l.Len(), Overlays: map[event.ShotID]*Overlay{},
			sessions: map[string]*Session{}, trials: make(map[string]*Trial, l.trials),
			movedIn: map[*Session][]event.ShotID{}, seen: seenBounds(all),
		},
		now:     Span{SpanWords: SpanWords{From: math.MinInt64}, setting: &Setting{}},
		running: map[*event.VisitEvent]*Trial{},
	}
	f.t.Spans = append(f.t.Spans, f.now)
	dead, circles := voided(all)
	for _, ev := range circles {
		f.odd(ev, "voids that take one another back have no effect")
	}
	for _, ev := range all {
		if v := ev.GetVoided(); v != nil && l.Event(v.Event) == nil {
			f.odd(ev, "takes back event %q, which is not in the log", v.Event)
		} else if v != nil && l.Event(v.Event).GetSessionErased() != nil {
			f.odd(ev, "takes back an erasure, which can't be taken back; ignored")
		}
		if n := len(*l.byID[ev.Id]); n > 1 {
			f.odd(ev, "%d different events have this id; the earliest counts", n)
		}
	}
	events := live(all, dead)
	f.t.Spans = slices.Grow(f.t.Spans, len(events))
	for _, ev := range events {
		if ev.Contract > event.Contract {
			f.odd(ev, "written by a later version (contract %d); update this program", ev.Contract)
		}
		f.step(ev)
	}
	for rank, ev := range events {
		if k := KindOf(ev); k != nil && k.later != nil {
			k.later(f, ev, Said{ev.Id, rank})
		}
	}
	for _, s := range f.erased {
		f.erase(s)
	}
	f.resolveMoves()
	l.trials = len(f.t.trials)
	return f.t
}

// odd lists an event that did not fit.
func (f *folder) odd(ev *event.VisitEvent, format string, args ...any) {
	f.t.Oddities = append(f.t.Oddities, Oddity{Event: ev.Id, At: ev.EffectiveUnixNs, Text: fmt.Sprintf(format, args...)})
}

// step lets one event of a kind act on the state to the state and begins a span where it changed.
func (f *folder) step(ev *event.VisitEvent) {
	before := f.now
	if k := KindOf(ev); k == nil {
		f.odd(ev, "says nothing that this program knows")
	} else if k.step != nil {
		k.step(f, ev)
	}
	if f.now != before {
		f.now.From = ev.EffectiveUnixNs
		f.t.Spans = append(f.t.Spans, f.now)
	}
}

// inSession says whether the event speaks of the open session.
func (f *folder) inSession(ev *event.VisitEvent, what string) bool {
	switch s := f.now.Session; {
	case s == nil:
		f.odd(ev, "%s while no session was open; ignored", what)
		return false
	case ev.Session != "" && ev.Session != s.ID:
		f.odd(ev, "%s in session %q while %q was open; ignored", what, ev.Session, s.ID)
		return false
	}
	return true
}
