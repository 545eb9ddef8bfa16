package console

import (
	"net/url"
	"strconv"
	"strings"
	"time"

	"fairlead/dashboards/console/people"
	"fairlead/ingest/contract/event"
)

// longestWait is how long what was entered may have waited on a tablet without
// contact and still be taken by itself.
const longestWait = 12 * time.Hour

// since gives an event that waited on a tablet the time at which it was entered:
// the tablet says how long ago that was, by a clock of its own that need not be
// right. An event that came before after all keeps its time of then.
func (s *server) since(ev *event.VisitEvent, in url.Values) *event.Fault {
	text := strings.TrimSpace(in.Get("ago_ms"))
	if text == "" || s.writer.wasTaken(ev.Id) {
		return nil
	}
	ago, err := strconv.ParseInt(text, 10, 64)
	wait := time.Duration(ago) * time.Millisecond
	if err != nil || ago < 0 || wait > longestWait {
		return event.NewFault("", text, "waited too long on the tablet to be taken by itself", "look at what is so now, and enter it again if it still holds")
	}
	ev.EffectiveUnixNs, ev.LastSeen = s.now().Add(-wait).UnixNano(), nil // the screen stood still: it saw nothing
	return nil
}

// addedPerson adds the name that was typed where a person is asked for, once
// the fitter has said that it is a new one.
func (s *server) addedPerson(ev *event.VisitEvent, in url.Values) *event.Fault {
	field := in.Get("add")
	role := map[string]people.Role{"player": people.Player, "fitter": people.Fitter}[field]
	name := strings.Join(strings.Fields(in.Get(field)), " ")
	if role == "" || name == "" || s.writer.wasTaken(ev.Id) {
		return nil
	}
	if _, fault := s.resolve(field, role, name); fault == nil {
		return nil // known after all
	}
	p := people.Person{Role: role, Name: name}
	if hand := in.Get("hand"); role == people.Player && (hand == "right" || hand == "left") {
		p.Hand = hand
	}
	if _, err := s.people.Put(p); err != nil {
		return event.NewFault(field, name, "can't be added", err.Error())
	}
	return nil
}
