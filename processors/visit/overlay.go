package visit

import (
	"cmp"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
)

// shots applies set to the overlay of each named shot.
func (f *folder) shots(ev *event.VisitEvent, ids [][]byte, set func(*Overlay)) {
	for _, raw := range ids {
		var id event.ShotID
		if len(raw) != len(id) {
			f.odd(ev, "names a shot by %d bytes instead of %d; that one is ignored", len(raw), len(id))
			continue
		}
		copy(id[:], raw)
		o := f.t.Overlays[id]
		if o == nil {
			o = &Overlay{}
			f.t.Overlays[id] = o
		}
		set(o)
	}
}

// trialOf finds the trial that an event names, or the one that ran then.
func (f *folder) trialOf(ev *event.VisitEvent, id string) *Trial {
	if id == "" {
		if t := f.running[ev]; t != nil {
			return t
		}
		f.odd(ev, "names no trial while none ran; ignored")
		return nil
	}
	t := f.t.trials[id]
	if t == nil {
		f.odd(ev, "names trial %q, which nobody started; ignored", id)
	}
	return t
}

// sessionOf finds the session that an event names, or the one that was open.
func (f *folder) sessionOf(ev *event.VisitEvent) *Session {
	if ev.Session == "" {
		if s := f.t.At(ev.EffectiveUnixNs).Session; s != nil {
			return s
		}
		f.odd(ev, "names no session while none was open; ignored")
		return nil
	}
	s := f.t.sessions[ev.Session]
	if s == nil {
		f.odd(ev, "names session %q, which nobody opened; ignored", ev.Session)
	}
	return s
}

// resolveMoves lists for each session the shots that were moved into it.
func (f *folder) resolveMoves() {
	for id, o := range f.t.Overlays {
		if o.Moved != nil && o.Moved.Trial != "" {
			s := f.t.trials[o.Moved.Trial].Session
			f.t.movedIn[s] = append(f.t.movedIn[s], id)
		}
	}
	for _, ids := range f.t.movedIn {
		slices.SortFunc(ids, func(a, b event.ShotID) int { return strings.Compare(string(a[:]), string(b[:])) })
	}
	slices.SortStableFunc(f.t.Oddities, func(a, b Oddity) int {
		return cmp.Or(cmp.Compare(a.At, b.At), strings.Compare(a.Event, b.Event), strings.Compare(a.Text, b.Text))
	})
}
