package visit

import (
	"slices"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
)

// Validate returns what is wrong with a visit event, one fault for each
// refused field: missing ids and reasons, unknown words, values that are not
// finite or not plausible, pairs that can't both be true, times far off. now
// is the hub's clock. It judges the event alone, not whether the session or
// trial that it names exists, and does not change it. A good event gives none.
func Validate(ev *event.VisitEvent, now time.Time) []*event.Fault {
	c := &event.Check{}
	if ev == nil {
		c.Add("", "", "no event", "")
		return c.Faults
	}
	c.Envelope(ev, now)
	if k := KindOf(ev); k == nil {
		c.Add("body", "", "says nothing that this version knows", "update this program")
	} else if k.check != nil {
		k.check(c, ev)
	}
	return c.Faults
}

// needSession notes that an event names no session where it has to.
func needSession(c *event.Check, ev *event.VisitEvent) {
	if ev.Session == "" {
		c.ID("session", "", false)
	}
}

// huge bounds changes in any unit; an outcome's own range is not known here.
const huge = 1e6

// checkNamed checks the name and the kind of one of several clubs, whose names differ,
// and returns the names with its own.
func checkNamed(c *event.Check, at string, club namedClub, names []string) []string {
	c.Text(at+"name", club.GetName(), 40)
	switch {
	case club.GetName() == "":
		c.Add(at+"name", "", "missing", "name the club, such as 7i")
	case slices.Contains(names, club.GetName()):
		c.Add(at+"name", club.GetName(), "stands there twice", "give each club once")
	}
	if _, err := glossary.ParseCategory(club.GetCategory()); err != nil {
		c.Add(at+"category", club.GetCategory(), "is no kind of club", "use driver, wood, hybrid, iron, wedge or putter")
	}
	return append(names, club.GetName())
}

// namedClub is a club of an order or a bag.
type namedClub interface {
	GetName() string
	GetCategory() string
}
