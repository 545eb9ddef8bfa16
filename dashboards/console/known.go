package console

import (
	"regexp"
	"strings"

	"fairlead/dashboards/console/people"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// pseudonym is how a pseudonym looks: p-… or f-…, or with a digit in it. A name
// that was typed in its place does not.
var pseudonym = regexp.MustCompile(`^[a-z]-.+$|[0-9]`)

// resolve finds who is meant by what was typed where a person is asked for: a
// pseudonym, or the name of somebody who is known. A name that nobody is known
// by must not go into the log.
func (s *server) resolve(field string, role people.Role, typed string) (string, *event.Fault) {
	typed = strings.Join(strings.Fields(typed), " ")
	if typed == "" {
		return "", nil
	}
	if p, ok := s.people.Get(typed); ok {
		return p.ID, nil
	}
	var same []string
	for _, p := range s.people.List("") {
		if strings.EqualFold(strings.Join(strings.Fields(p.Name), " "), typed) && (p.Role == role || field == "who") {
			same = append(same, p.ID)
		}
	}
	switch {
	case len(same) == 1:
		return same[0], nil
	case len(same) > 1:
		return "", event.NewFault(field, typed, "is the name of several people", "give the pseudonym: "+strings.Join(same, ", "))
	case pseudonym.MatchString(typed) && !strings.Contains(typed, " ") || s.writer.Heard(typed):
		return typed, nil
	}
	return "", event.NewFault(field, typed, "nobody of this name is known as a "+string(role),
		"add “"+typed+"” as a "+string(role)+", or choose from the list; a name itself is not taken into the log")
}

// meetPeople puts pseudonyms in the place of names in an event, and what is
// known of a player beside.
func (s *server) meetPeople(ev *event.VisitEvent) (faults []*event.Fault) {
	set := func(field string, role people.Role, to *string) {
		id, fault := s.resolve(field, role, *to)
		if fault != nil {
			faults = append(faults, fault)
			return
		}
		*to = id
	}
	set("who", people.Fitter, &ev.Who)
	switch b := ev.Body.(type) {
	case *event.VisitEvent_SessionOpened:
		o := b.SessionOpened
		set("player", people.Player, &o.Player)
		set("fitter", people.Fitter, &o.Fitter)
		if o.Hand == event.Hand_HAND_UNKNOWN {
			if p, ok := s.people.Get(o.Player); ok && p.Hand != "" {
				o.Hand = event.Hand(event.Hand_value["HAND_"+strings.ToUpper(p.Hand)])
			} else if last := s.writer.LastOf(o.Player, ""); last != nil {
				o.Hand = last.Hand
			}
		}
	case *event.VisitEvent_OrderMoved:
		set("holder", people.Fitter, &b.OrderMoved.Holder)
	case *event.VisitEvent_SessionCorrected:
		set("player", people.Player, &b.SessionCorrected.Player)
	case *event.VisitEvent_HitterChanged:
		set("hitter", people.Fitter, &b.HitterChanged.Hitter)
	}
	return faults
}

// asBefore fills in of an opened session what the form left to what was said
// of the player before.
func (s *server) asBefore(o *event.SessionOpened, in map[string][]string) {
	id, fault := s.resolve("player", people.Player, o.Player)
	if fault != nil {
		return
	}
	last := s.writer.LastOf(id, "")
	if last == nil {
		return
	}
	said := func(name string) bool { return len(in[name]) > 0 && in[name][0] != "" }
	if !said("consent") {
		o.PoolingConsent = last.Consent
	}
	if !said("minor") {
		o.Minor = last.Minor
	}
}

// LastOf is a player's last session in any bay that was not erased, of a
// category, or of any for ""; nil where none is remembered.
func (w *Writer) LastOf(player, category string) (last *visit.Session) {
	w.mu.Lock()
	defer w.mu.Unlock()
	last, _ = w.lastOf(player, category)
	return last
}

func (w *Writer) lastOf(player, category string) (last *visit.Session, at *visit.Timeline) {
	for _, bay := range w.bays {
		tl := w.logs[bay].Timeline()
		for _, s := range tl.Sessions {
			if s.Player == player && player != "" && !s.Erased && s.MovedTo == "" && (category == "" || s.Category == category) &&
				(last == nil || s.From > last.From) {
				last, at = s, tl
			}
		}
	}
	return last, at
}

// Heard says whether an id stands for a person in what was written before.
func (w *Writer) Heard(id string) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, l := range w.logs {
		for _, s := range l.Timeline().Sessions {
			if s.Player == id || s.Fitter == id {
				return true
			}
		}
	}
	return false
}
