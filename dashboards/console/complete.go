package console

import (
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// complete fills in what the sender left open: who writes where and when is
// known here, and which session is meant follows from the bay's events. Ids of
// what an event begins are derived from the event's own, so that the same event
// sent again begins the same.
func (w *Writer) complete(bay string, ev *event.VisitEvent, now time.Time) {
	ev.Contract, ev.Studio, ev.Bay, ev.Journal, ev.Seq = event.Contract, w.studio, bay, "", 0
	if ev.Id == "" {
		ev.Id = event.NewID(now)
	}
	ev.RecordedUnixNs = now.UnixNano()
	if w.clock != nil {
		ev.Boot, ev.MonoNs = w.clock.Boot(), int64(w.clock.Since())
	}
	if ev.EffectiveUnixNs == 0 {
		ev.EffectiveUnixNs = now.UnixNano()
	}
	if o := ev.GetSessionOpened(); o != nil {
		if ev.Session == "" {
			ev.Session = derived("s", ev.Id)
		}
		if ev.Visit == "" {
			ev.Visit = w.visitOf(o.Player, ev)
		}
		return
	}
	if t := ev.GetTrialStarted(); t != nil && t.Trial == "" {
		t.Trial = derived("t", ev.Id)
	}
	if o := ev.GetOrderPlaced(); o != nil && o.Order == "" {
		o.Order = w.freshNumber(ev.Id)
	}
	s := w.place(bay).Meant(ev)
	if s == nil {
		return
	}
	if ev.Session == "" {
		ev.Session = s.ID
	}
	if ev.Visit == "" && ev.Session == s.ID {
		ev.Visit = s.Visit
	}
}

// visitOf is the player's visit of the day in any bay, or a new one.
func (w *Writer) visitOf(player string, ev *event.VisitEvent) string {
	const day = int64(16 * time.Hour)
	for _, l := range w.logs {
		for _, s := range l.Timeline().Sessions {
			if s.Player == player && s.Visit != "" && ev.EffectiveUnixNs-s.From < day && s.From-ev.EffectiveUnixNs < day {
				return s.Visit
			}
		}
	}
	return derived("v", ev.Id)
}

// derived makes an id from another one, within the length that ids may have.
func derived(kind, id string) string {
	out := kind + "-" + id
	if len(out) > 64 {
		out = out[:64]
	}
	return out
}

// place is what is known of a bay where an event is entered.
func (w *Writer) place(bay string) *visit.Place {
	l := w.logs[bay]
	return &visit.Place{Bay: bay, Timeline: l.Timeline(), Event: l.Event}
}
