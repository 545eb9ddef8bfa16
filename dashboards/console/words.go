package console

import (
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// describe says in words what an event did.
func (s *server) describe(tl *visit.Timeline, ev *event.VisitEvent) string {
	return (&visit.Teller{Timeline: tl, Name: s.people.Name}).Says(ev)
}

func nonEmpty(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}
