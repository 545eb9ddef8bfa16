package visit

import "fairlead/ingest/contract/event"

var _ = kind(Kind{
	Name: "session_corrected", Bears: OnTrial | OnRows, Keeps: []string{"bay"}, needs: needsLatest,
	Acts: []Act{{
		Name: "correct", Short: "Correct a session's player, hand or bay, as a whole", Example: "correct --bay north --hand left",
		Fields: []Field{
			{Name: "player", Help: "who the player really was"},
			{Name: "hand", Help: "right or left", Choices: words("HAND_", event.Hand_name)},
			{Name: "to_bay", Help: "bay that the session really was in"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			c := &event.SessionCorrected{Player: r.Text("player"), Bay: r.Text("to_bay"),
				Hand: event.Hand(r.choice("hand", "HAND_", event.Hand_value, 0))}
			if c.Bay == r.Place.Bay {
				c.Bay = "" // it is there
			}
			ev.Body = &event.VisitEvent_SessionCorrected{SessionCorrected: c}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		s := ev.GetSessionCorrected()
		needSession(c, ev)
		c.ID("player", s.GetPlayer(), true)
		c.Choice("hand", int32(s.GetHand()), event.Hand_name)
		if b := s.GetBay(); b != "" {
			if err := event.CheckName("bay", b); err != nil {
				c.Add("corrected_bay", b, err.Error(), "")
			}
		}
		if s.GetPlayer() == "" && s.GetBay() == "" && s.GetHand() == event.Hand_HAND_UNKNOWN {
			c.Add("session_corrected", "", "corrects nothing", "give the player, the hand or the bay")
		}
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) { f.correct(ev, ev.GetSessionCorrected()) },
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		if p.Timeline.Session(ev.Session) == nil {
			return event.NewFault("session", ev.Session, "is no session of bay "+p.Bay, "name one as `fairlead visit log` lists them")
		}
		return nil
	},
	says: says("session corrected"),
})

func (f *folder) correct(ev *event.VisitEvent, c *event.SessionCorrected) {
	s := f.sessionOf(ev)
	if s == nil {
		return
	}
	if c.GetPlayer() != "" {
		s.Player = c.Player
	}
	if c.GetHand() != event.Hand_HAND_UNKNOWN {
		s.Hand = c.Hand
	}
	if c.GetBay() == ev.Bay {
		if c.GetBay() != "" {
			s.MovedTo = "" // back to this one
		}
	} else if c.GetBay() != "" {
		s.MovedTo = c.Bay
	}
}
