package visit

import (
	"fmt"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
)

// Stay is a time in which sessions of a bay hold: one session, or several whose
// players take turns. Stays do not overlap.
type Stay struct {
	From, To int64 // [From, To); To is Never while one of its sessions is open
	Sessions []*Session
}

var _ = kind(Kind{
	Name: "turn_taken", Bears: OnSpan,
	Acts: []Act{{
		Name: "turn", Short: "Go on in a session that rested beside the open one, which rests now", Example: "turn --bay north p-022",
		Fields: []Field{
			{Name: "player", Arg: 1, Optional: true, Help: "whose turn it is (default: the only one who rests)"},
			{Name: "to", Flag: "session", Help: "the session, where the player has several at rest"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Session = r.rested(r.Text("to"), r.Text("player"))
			ev.Body = &event.VisitEvent_TurnTaken{TurnTaken: &event.TurnTaken{}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) { needSession(c, ev) },
	step:  func(f *folder, ev *event.VisitEvent) { f.turn(ev) },
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		if !slices.ContainsFunc(p.Timeline.Resting(ev.EffectiveUnixNs), func(s *Session) bool { return s.ID == ev.Session }) {
			return event.NewFault("session", ev.Session, "does not rest in bay "+p.Bay, "open it beside the one that is there: 'they take turns'")
		}
		return nil
	},
	says: func(t *Teller, ev *event.VisitEvent) string {
		if s := t.Timeline.Session(ev.Session); s != nil {
			return fmt.Sprintf("turn of %s, %s", t.Name(s.Player), s.Category)
		}
		return "another player's turn"
	},
})

// rested is the session at rest that is meant by its id, by its player, or because
// there is no other.
func (r *Reader) rested(id, player string) string {
	if id != "" {
		return id
	}
	rest := r.Place.Timeline.Resting(Never - 1)
	var whose []string
	for _, s := range rest {
		whose = append(whose, s.Player+" ("+s.Category+", session "+s.ID+")")
	}
	if player != "" {
		rest = slices.DeleteFunc(slices.Clone(rest), func(s *Session) bool { return s.Player != player })
	}
	switch {
	case len(rest) == 1:
		return rest[0].ID
	case len(whose) == 0:
		r.Bad("player", player, "nobody rests in bay "+r.Place.Bay, "open a session beside the one that is there first")
	case player != "" && len(rest) == 0:
		r.Bad("player", player, "does not rest in bay "+r.Place.Bay, "name one of "+strings.Join(whose, ", "))
	default:
		r.Bad("player", player, "several may be meant", "name one of "+strings.Join(whose, ", ")+" by its session")
	}
	return ""
}

// Resting lists the sessions that rest at an instant beside the one that is hit
// in, in the order of opening.
func (t *Timeline) Resting(at int64) (rest []*Session) {
	stay, _, _ := t.Around(at)
	if stay == nil {
		return nil
	}
	on := t.At(at).Session
	for _, s := range stay.Sessions {
		if s != on && s.From <= at && at < s.To {
			rest = append(rest, s)
		}
	}
	return rest
}

// beside makes room for a session that opens: the one that holds rests where they
// take turns, else it is closed with all that rest. It returns the new one's stay.
func (f *folder) beside(at int64, turns bool) *Stay {
	if turns && (f.now.Session != nil || len(f.resting) > 0) {
		f.rest()
		return f.t.Stays[len(f.t.Stays)-1]
	}
	f.close(at)
	for _, s := range f.resting {
		if s.Trial != nil {
			s.Trial.To = at
		}
		s.Session.To, s.Session.Stay.To = at, at
	}
	f.resting = nil
	stay := &Stay{From: at, To: Never}
	f.t.Stays = append(f.t.Stays, stay)
	return stay
}

// rest puts aside what holds in the session that is hit in.
func (f *folder) rest() {
	if f.now.Session != nil {
		f.resting = append(f.resting, f.now)
	}
	f.now = Span{SpanWords: SpanWords{From: f.now.From}, setting: f.now.setting}
}

// turn takes up what held in a session at rest; the setting is the bay's.
func (f *folder) turn(ev *event.VisitEvent) {
	i := slices.IndexFunc(f.resting, func(s Span) bool { return s.Session.ID == ev.Session })
	if i < 0 {
		f.odd(ev, "turn of session %q, which does not rest; ignored", ev.Session)
		return
	}
	taken := f.resting[i]
	f.resting = slices.Delete(f.resting, i, i+1)
	f.rest()
	taken.From, taken.setting = f.now.From, f.now.setting
	f.now = taken
}
