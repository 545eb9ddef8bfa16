package visit

import (
	"fmt"

	"fairlead/ingest/contract/event"
)

// Noted is something that was said about a player for longer than the session.
type Noted struct {
	Event string
	At    int64
	Who   string
	Given *event.PlayerNoted
}

// A note is of the session's player: where that is corrected, the note follows.
var _ = kind(Kind{
	Name: "player_noted", Bears: OnPages, Apart: true, needs: needsLatest,
	Acts: []Act{{
		Name: "note", Short: "Note something about the player that the next fitter should know",
		Example: "note --bay north aim 'hold the greens of the long holes'",
		Fields: []Field{
			{Name: "kind", Arg: 1, Choices: words("NOTE_", event.PlayerNote_name), Help: "what it is about"},
			{Name: "words", Arg: 2, Rest: true, Optional: true, Help: "in words; an aim in the player's own"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Session = r.Text("session")
			ev.Body = &event.VisitEvent_PlayerNoted{PlayerNoted: &event.PlayerNoted{
				Kind: event.PlayerNote(r.choice("kind", "NOTE_", event.PlayerNote_value, -1)), Words: r.Text("words")}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		n := ev.GetPlayerNoted()
		needSession(c, ev)
		c.Choice("kind", int32(n.GetKind()), event.PlayerNote_name)
		c.Text("words", n.GetWords(), event.LongestText)
		if n.GetWords() == "" && n.GetKind() != event.PlayerNote_NOTE_PAIN_OVER {
			c.Add("words", "", "missing", "say it in words")
		}
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		if s := f.sessionOf(ev); s != nil {
			s.Notes = append(s.Notes, Noted{ev.Id, ev.EffectiveUnixNs, ev.Who, ev.GetPlayerNoted()})
		}
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		return fmt.Sprintf("noted of the player: %s", NoteWord(ev.GetPlayerNoted().GetKind()))
	},
})

// NoteWord says what a note is about.
func NoteWord(n event.PlayerNote) string {
	switch n {
	case event.PlayerNote_NOTE_AIM:
		return "an aim"
	case event.PlayerNote_NOTE_PAIN:
		return "pain or an injury"
	case event.PlayerNote_NOTE_PAIN_OVER:
		return "pain is over"
	}
	return "for the next fitter"
}
