package visit

import "fairlead/ingest/contract/event"

// Written by `fairlead erase`, session by session. It keeps all of itself.
var _ = kind(Kind{
	Name: "session_erased", Bears: OnTrial | OnRows, Keeps: []string{"player"},
	check: func(c *event.Check, ev *event.VisitEvent) {
		needSession(c, ev)
		c.ID("player", ev.GetSessionErased().GetPlayer(), false)
	},
	// What is hit while a session runs would be lost with it; nobody erases by one event.
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		if s := p.Timeline.Session(ev.Session); s != nil && s.Open() {
			return event.NewFault("session", ev.Session, "this session is still open in bay "+p.Bay, "close it first")
		}
		return nil
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		if s := f.sessionOf(ev); s != nil && !s.Erased {
			f.erased = append(f.erased, s)
		}
	},
	says: says("the session was erased at the player's request"),
})

// erase leaves of a session when and where it was, what kind of club it was
// about, and the order of its trials. The log holds no more of it either, but
// that its events were erased one by one must not show.
func (f *folder) erase(s *Session) {
	*s = Session{SessionWords: SessionWords{ID: s.ID, Visit: s.Visit, From: s.From, To: s.To, Category: s.Category, Fitter: s.Fitter,
		Erased: true, MovedTo: s.MovedTo},
		Trials: s.Trials, Stay: s.Stay}
	for _, t := range s.Trials {
		t.Build, t.BuildKey, t.Stated, t.Feels = noBuild, f.log.buildKey(noBuild), noBuild, nil
		for i := range t.Parts {
			t.Parts[i].Instruction = ""
		}
	}
	for i := range f.t.Spans {
		if f.t.Spans[i].Session == s {
			f.t.Spans[i].Instruction = ""
			f.t.Spans[i].HitterID, f.t.Spans[i].HitterHand = "", event.Hand_HAND_UNKNOWN
		}
	}
}
