package visit

import (
	"cmp"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
)

// overlay applies what an event says about a session, a trial or named shots,
// whenever those were. rank is the event's place among the live ones.
func (f *folder) overlay(ev *event.VisitEvent, rank int) {
	said := Said{ev.Id, rank}
	switch body := ev.Body.(type) {
	case *event.VisitEvent_BuildAmended:
		if t := f.trialOf(ev, body.BuildAmended.Trial); t != nil && body.BuildAmended.Build != nil {
			t.Build, t.BuildKey = body.BuildAmended.Build, f.log.buildKey(body.BuildAmended.Build)
		}
	case *event.VisitEvent_FeelNoted:
		if t := f.trialOf(ev, body.FeelNoted.Trial); t != nil {
			t.Feels = append(t.Feels, Feel{ev.Id, ev.EffectiveUnixNs, body.FeelNoted.Words, body.FeelNoted.Liking})
		}
	case *event.VisitEvent_SessionErased:
		if s := f.sessionOf(ev); s != nil && !s.Erased {
			f.erased = append(f.erased, s)
		}
	case *event.VisitEvent_SessionCorrected:
		f.correct(ev, body.SessionCorrected)
	case *event.VisitEvent_VerdictGiven:
		if s := f.sessionOf(ev); s != nil {
			s.Verdicts = append(s.Verdicts, Verdict{ev.Id, ev.EffectiveUnixNs, ev.Who, body.VerdictGiven})
		}
	case *event.VisitEvent_PriorTaken:
		if s := f.sessionOf(ev); s != nil {
			if s.Priors == nil {
				s.Priors = map[string]*event.PriorTaken{}
			}
			s.Priors[body.PriorTaken.Pair] = body.PriorTaken
		}
	case *event.VisitEvent_HitChecked:
		if s := f.sessionOf(ev); s != nil {
			s.Checks = append(s.Checks, Check{ev.Id, ev.EffectiveUnixNs, ev.Who, body.HitChecked})
		}
	case *event.VisitEvent_ClassChanged:
		f.shots(ev, body.ClassChanged.ShotIds, func(o *Overlay) {
			o.Classed = &Classed{said, body.ClassChanged.Class, body.ClassChanged.LengthM}
		})
	case *event.VisitEvent_ShotsExcluded:
		f.shots(ev, body.ShotsExcluded.ShotIds, func(o *Overlay) {
			o.Excluded = &Excluded{said, true, body.ShotsExcluded.Reason}
		})
	case *event.VisitEvent_ShotsRestored:
		f.shots(ev, body.ShotsRestored.ShotIds, func(o *Overlay) {
			o.Excluded = &Excluded{said, false, body.ShotsRestored.Reason}
		})
	case *event.VisitEvent_ShotsMoved:
		if id := body.ShotsMoved.Trial; id != "" && f.t.trials[id] == nil {
			f.odd(ev, "moved shots to trial %q, which nobody started; they stay where they were", id)
			return
		}
		f.shots(ev, body.ShotsMoved.ShotIds, func(o *Overlay) {
			o.Moved = &Moved{said, body.ShotsMoved.Trial}
		})
	case *event.VisitEvent_ShotsUnpaired:
		f.shots(ev, body.ShotsUnpaired.ShotIds, func(o *Overlay) { o.Unpaired = true })
	}
}

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

func (f *folder) correct(ev *event.VisitEvent, c *event.SessionCorrected) {
	s := f.sessionOf(ev)
	if s == nil {
		return
	}
	if c.Player != "" {
		s.Player = c.Player
	}
	if c.Hand != event.Hand_HAND_UNKNOWN {
		s.Hand = c.Hand
	}
	if c.Bay == ev.Bay {
		if c.Bay != "" {
			s.MovedTo = "" // back to this one
		}
	} else if c.Bay != "" {
		s.MovedTo = c.Bay
	}
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
