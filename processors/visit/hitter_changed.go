package visit

import (
	"strings"

	"fairlead/ingest/contract/event"
)

var _ = kind(Kind{
	Name: "hitter_changed", Bears: OnSpan, Keeps: []string{"kind"}, needs: needsOpen,
	Acts: []Act{{
		Name: "hitter", Short: "Say who swings from here on; only the player's shots count", Example: "hitter --bay north fitter",
		Fields: []Field{
			{Name: "hitter", Arg: 1, Choices: words("HITTER_", event.HitterKind_name), Help: "who swings"},
			{Name: "hitter_id", Flag: "hitter", Help: "pseudonym of the fitter or guest"},
			{Name: "hand", Choices: words("HAND_", event.Hand_name), Help: "right, left; unknown: the session's"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_HitterChanged{HitterChanged: &event.HitterChanged{
				Kind: event.HitterKind(r.choice("hitter", "HITTER_", event.HitterKind_value, -1)), Hitter: r.Text("hitter_id"),
				Hand: event.Hand(r.choice("hand", "HAND_", event.Hand_value, 0)),
			}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		h := ev.GetHitterChanged()
		c.Choice("hitter_kind", int32(h.GetKind()), event.HitterKind_name)
		c.Choice("hand", int32(h.GetHand()), event.Hand_name)
		c.ID("hitter", h.GetHitter(), true)
	},
	step: func(f *folder, ev *event.VisitEvent) {
		if h := ev.GetHitterChanged(); f.inSession(ev, "hitter changed") {
			f.now.Hitter, f.now.HitterID, f.now.HitterHand = h.GetKind(), h.GetHitter(), h.GetHand()
		}
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		return "hitter: " + strings.ToLower(strings.TrimPrefix(ev.GetHitterChanged().GetKind().String(), "HITTER_"))
	},
})
