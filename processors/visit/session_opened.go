package visit

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
)

var _ = kind(Kind{
	Name: "session_opened", Bears: OnSpan, Keeps: []string{"category", "fitter", "beside"},
	Acts: []Act{{
		Name: "open", Short: "Open a session; one that is open is closed by it, or rests with --beside",
		Example: "open --bay north --player p-017 --hand right --category iron",
		Fields: []Field{
			{Name: "player", Help: "player's pseudonym, or the name of a player who is known"},
			{Name: "hand", Help: "right or left (default: as known of the player)", Choices: words("HAND_", event.Hand_name)},
			{Name: "category", Help: strings.Join(glossary.CategoryNames(), ", ")},
			{Name: "fitter", Help: "fitter's pseudonym or name"},
			{Name: "aim", Help: "what the player came for, in the player's words"},
			{Name: "visit", Help: "visit it belongs to (default: the player's visit of the day)"},
			{Name: "consent", Help: "the player lets the shots teach across players", Yes: true},
			{Name: "minor", Help: "the player is a minor", Yes: true},
			{Name: "beside", Help: "the open session rests: two players take turns (`fairlead visit turn`)", Yes: true},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Visit = r.Text("visit")
			ev.Body = &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{
				Player: r.Text("player"), Hand: event.Hand(r.choice("hand", "HAND_", event.Hand_value, 0)), Category: r.Text("category"),
				Fitter: r.Text("fitter"), Aim: r.Text("aim"), PoolingConsent: r.Yes("consent"), Minor: r.Yes("minor"),
				Beside: r.Yes("beside"),
			}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		o := ev.GetSessionOpened()
		if ev.Visit == "" {
			c.ID("visit", "", false)
		}
		needSession(c, ev)
		c.ID("player", o.GetPlayer(), false)
		c.ID("fitter", o.GetFitter(), true)
		c.Choice("hand", int32(o.GetHand()), event.Hand_name)
		if o.GetCategory() == "" {
			c.Add("category", "", "missing", "say which kind of club the session is about")
		}
		c.OneOf("category", o.GetCategory(), glossary.CategoryNames()...)
		c.Text("aim", o.GetAim(), event.LongestText)
	},
	step: func(f *folder, ev *event.VisitEvent) { f.open(ev, ev.GetSessionOpened()) },
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		if p.Timeline.Session(ev.Session) != nil {
			return event.NewFault("session", ev.Session, "was opened before", "give a fresh id, or none")
		}
		return nil
	},
	says: func(t *Teller, ev *event.VisitEvent) string {
		o := ev.GetSessionOpened()
		return fmt.Sprintf("session opened for %s, %s", t.Name(o.GetPlayer()), o.GetCategory())
	},
})

func (f *folder) open(ev *event.VisitEvent, o *event.SessionOpened) {
	id := ev.Session
	if id == "" {
		id = ev.Id
		f.odd(ev, "opened a session without an id; it takes the event's")
	}
	if f.t.sessions[id] != nil {
		f.odd(ev, "opened session %q a second time; ignored", id)
		return
	}
	stay := f.beside(ev.EffectiveUnixNs, o.GetBeside())
	s := &Session{Aim: o.GetAim(), SessionWords: SessionWords{
		ID: id, Visit: ev.Visit, From: ev.EffectiveUnixNs, To: Never,
		Player: o.GetPlayer(), Hand: o.GetHand(), Category: o.GetCategory(), Fitter: o.GetFitter(),
		Consent: o.GetPoolingConsent(), Minor: o.GetMinor(),
	}, Stay: stay}
	stay.Sessions = append(stay.Sessions, s)
	f.t.sessions[id] = s
	f.t.Sessions = append(f.t.Sessions, s)
	f.now.Session = s
}
