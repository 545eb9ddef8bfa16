package console

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"net/url"
	"strings"

	"fairlead/dashboards/gate"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// Guard stands in every form of a bay's page: what the form was made for, and a
// key with which it is taken once.
type Guard struct {
	Session, Trial string // that were open and running; empty: none
	Who            string // the session's fitter, who enters where nobody else is named
	// Key of a page that was loaded whole. Pieces that are sent to a live page
	// have none, else each would be another: its script makes the keys.
	Key string
}

func guardOf(span *visit.Span) (g Guard) {
	if span.Session != nil {
		g.Session, g.Who = span.Session.ID, span.Session.Fitter
	}
	if span.Trial != nil {
		g.Trial = span.Trial.ID
	}
	return g
}

// Stale is refused: the form was made for another session or trial.
type Stale struct{ Refused }

// guarded says why a form may no longer be taken: the bay went on since it was
// made. Forms that carry no session are of other programs, which say what they
// mean.
func (s *server) guarded(p *visit.Place, ev *event.VisitEvent, in url.Values) error {
	stale := func(field, reason, hint string) error {
		return &Stale{Refused{[]*event.Fault{event.NewFault(field, "", reason, hint)}}}
	}
	name := func(id string) string {
		if known := p.Timeline.Session(id); known != nil {
			return s.people.Name(known.Player) + ", " + known.Category
		}
		return "nobody"
	}
	now := guardOf(p.Timeline.Now())
	if at, ok := in["at_session"]; ok && at[0] != now.Session {
		return stale("session", "this form was opened for "+name(at[0])+"; now "+name(now.Session)+
			" is in the bay: nothing was written, and what you typed is still there",
			"open the form again to enter it for the one who is there now")
	}
	if at, ok := in["at_trial"]; ok && at[0] != now.Trial && visit.OfNow(ev) {
		what := "no trial runs now"
		if t := p.Timeline.Trial(now.Trial); t != nil {
			what = "another trial runs now, " + nonEmpty(t.Build.GetName(), "unnamed")
		}
		return stale("trial", "since this form was opened the trial changed: "+what+"; nothing was written, and what you typed is still there",
			"look again, and send it once more if it still holds")
	}
	return nil
}

// keyOf makes the event's id of a form's one-time key, so that the journal
// knows a form that is sent twice, even by a console that was started anew.
func keyOf(act string, in url.Values) string {
	key := strings.TrimSpace(in.Get("key"))
	if key == "" {
		return ""
	}
	if key += "-" + act; len(key) > mostKey {
		sum := sha256.Sum256([]byte(key))
		return hex.EncodeToString(sum[:mostKey/2])
	}
	return key
}

// mostKey bounds a form's key, which becomes the id of what it writes: forms add to it
// what they are of, and of a long list each event a number. One too long for an id is
// told by its sum.
const mostKey = 56

// whoOf is who enters a form: who is named, else the session's fitter.
func whoOf(r *http.Request, p *visit.Place) string {
	if i := gate.From(r.Context()); i != nil && !i.Hub {
		return i.Person
	}
	if who := strings.TrimSpace(r.PostFormValue("who")); who != "" {
		return who
	}
	if session := p.Timeline.Now().Session; session != nil {
		return session.Fitter
	}
	return strings.TrimSpace(r.PostFormValue("fitter"))
}
