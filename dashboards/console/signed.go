package console

import (
	"net/http"

	"fairlead/dashboards/console/people"
	"fairlead/dashboards/gate"
	"fairlead/ingest/contract/event"
)

// signed says in an event who is signed in where it was entered, whatever its
// sender says. A person speaks for themselves; the hub's tools say who said so.
func signed(r *http.Request, ev *event.VisitEvent) {
	ev.Person, ev.Device = "", ""
	if i := gate.From(r.Context()); i != nil {
		if ev.Person, ev.Device = i.Person, i.Device; !i.Hub {
			ev.Who = i.Person
		}
	}
}

// mayWrite refuses what programs may not write: what only the console says of
// itself, and what is no new fact.
func (s *server) mayWrite(ev *event.VisitEvent) error {
	switch {
	case ev.Erased:
		return refuse("erased", "true", "an event that is new has its words", "leave it out")
	case ev.GetSessionErased() != nil:
		return s.mayErase(ev)
	case ev.GetPriorTaken() != nil || ev.GetClockMet() != nil || ev.GetBayChecked() != nil:
		return refuse("body", event.KindOf(ev), "is written by the console alone", "leave it to the console")
	}
	return nil
}

// joined keeps a fitter who signs in among the names, so that pages name them.
func (s *server) joined(a gate.Account) {
	if _, known := s.people.Get(a.ID); known {
		return
	}
	if _, err := s.people.Put(people.Person{ID: a.ID, Role: people.Fitter, Name: a.Name}); err != nil {
		s.log.Error("a fitter's name can't be kept", "person", a.ID, "error", err)
	}
}
