package visit

import (
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/visit/stock"
)

// Place is what is known where something is entered.
type Place struct {
	Bay      string
	Timeline *Timeline
	Live     []*event.VisitEvent               // of the bay, in order, less what was taken back
	Event    func(id string) *event.VisitEvent // nil where events can't be looked up
	// Prefer is the unit in which a part's field is shown; nil: the stored ones.
	Prefer func(info event.BuildFieldInfo) string
	// Shown is the unit in which another field is shown, and a bare number in it is meant;
	// nil: the stored ones.
	Shown func(field string, q unit.Quantity) string
	// Now is the time by the clock of the bay, Unix ns; 0: not known here.
	Now int64
	// Bag is what is known of the bag that is meant; nil: it is read from Timeline.
	Bag []*event.BagClub
	// Far is the unit in which distances are shown; empty: a unit has to be written.
	Far string
	// Shelf is the studio's catalogue; nil: not known here.
	Shelf *stock.Shelf
	// Lot draws a number from 0 to n-1, each as likely; nil: nothing is drawn here.
	Lot func(n int) int
	// Next are the trials of the session that may be drawn to be hit next, with their
	// chances; nil: what is worth hitting next is not known here.
	Next func() []Lot
}

// Fits says why an event can't be right where it is entered: what would be
// ignored when the log is folded is better said at once. nil: it fits.
func (p *Place) Fits(ev *event.VisitEvent) *event.Fault {
	k := KindOf(ev)
	if k == nil {
		return event.NewFault("body", "", "says nothing that this version knows", "update this program")
	}
	if id := Named(ev); id != "" && p.Timeline.Trial(id) == nil {
		return event.NewFault("trial", id, "nobody started a trial of this id in bay "+p.Bay, "name a trial of the bay's page")
	}
	span := p.Timeline.At(ev.EffectiveUnixNs)
	if k.needs == needsOpen || k.needs == needsTrial || k.needs == needsPause {
		if span.Session == nil {
			return event.NewFault("session", ev.Session, "no session is open in bay "+p.Bay, "open one first")
		}
		if ev.Session != span.Session.ID {
			return event.NewFault("session", ev.Session, "the open session is "+span.Session.ID, "leave the session out")
		}
	}
	if k.fits != nil {
		if f := k.fits(p, ev); f != nil {
			return f
		}
	}
	switch {
	case k.needs == needsTrial && span.Trial == nil:
		return event.NewFault("trial", "", "no trial is running", "start one first")
	case k.needs == needsPause && !span.Paused:
		return event.NewFault("trial", "", "nothing is paused", "start a trial, or go on: it runs")
	}
	return nil
}

// OfNow says whether an event is about what runs now: entered for one trial, it
// would say something else of the next.
func OfNow(ev *event.VisitEvent) bool {
	k := KindOf(ev)
	return k != nil && k.needs != needsNothing && k.needs != needsLatest && ev.GetSessionClosed() == nil ||
		ev.GetClassChanged() != nil && len(ev.GetClassChanged().ShotIds) == 0
}

// Meant is the session that an event is about when it names none: that of the
// trial or event that it names, else the one that is open at its time, else,
// for what is said of a session as a whole, the bay's latest.
func (p *Place) Meant(ev *event.VisitEvent) *Session {
	tl := p.Timeline
	if k := KindOf(ev); k != nil && k.Studio {
		return nil
	}
	if ev.Session != "" {
		return tl.Session(ev.Session)
	}
	if t := tl.Trial(Named(ev)); t != nil {
		return t.Session
	}
	if v := ev.GetVoided(); v != nil {
		if about := p.Event(v.Event); about != nil {
			return tl.Session(about.Session)
		}
		return nil
	}
	if s := tl.At(ev.EffectiveUnixNs).Session; s != nil {
		return s
	}
	if k := KindOf(ev); k != nil && k.needs == needsLatest {
		return tl.Latest(Never, nil)
	}
	return nil
}

// InHand is the trial of a session that was hit last: the one that runs, else
// the one that ended last; nil before the first.
func (s *Session) InHand() (last *Trial) {
	for _, t := range s.Trials {
		if last == nil || t.To >= last.To {
			last = t
		}
	}
	return last
}
