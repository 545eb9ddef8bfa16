package visit

import (
	"fmt"
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
)

// Built is a club of an order as it was measured at the bench.
type Built struct {
	Event string
	At    int64
	Who   string
	Given *event.ClubBuilt
}

var _ = kind(Kind{
	Name: "club_built", Bears: OnPages, Apart: true, Keeps: []string{"order", "club", "judgement"},
	Acts: []Act{{
		Name: "built", Short: "Say what was measured of a club of an order at the bench",
		Example: "built --bay north K7P4XA8 7i passed --measured length=37in --measured lie=62deg",
		Fields: append([]Field{
			{Name: "order", Arg: 1, Help: "number of the order"},
			{Name: "row", Arg: 2, Word: "CLUB", Help: "which club of it, such as 7i"},
			{Name: "judgement", Arg: 3, Choices: words("BUILT_", event.BuiltJudgement_name)[1:], Help: "what is done with it"},
			{Name: "reason", Help: "why; needed for all but passed, and to pass beyond a tolerance"},
		}, buildFields()[1:2]...),
		read: func(r *Reader, ev *event.VisitEvent) {
			b := &event.ClubBuilt{Order: r.orderNumber(), Club: r.Text("row"), Reason: r.Text("reason"), Build: &event.Build{},
				Judgement: event.BuiltJudgement(r.choice("judgement", "BUILT_", event.BuiltJudgement_value, -1))}
			given := slices.DeleteFunc(r.parts(), func(p partGiven) bool { return p.text == "" })
			for i := range given {
				given[i].measured = true
			}
			r.apply(b.Build, given)
			ev.Session = r.sessionOfOrder(b.Order)
			ev.Body = &event.VisitEvent_ClubBuilt{ClubBuilt: b}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		b := ev.GetClubBuilt()
		needSession(c, ev)
		checkNumber(c, b.GetOrder())
		c.Text("club", b.GetClub(), 40)
		if b.GetClub() == "" {
			c.Add("club", "", "missing", "name the club of the order")
		}
		c.Choice("judgement", int32(b.GetJudgement()), event.BuiltJudgement_name)
		c.Text("reason", b.GetReason(), event.LongestText)
		c.Build("build", b.GetBuild())
		switch b.GetJudgement() {
		case event.BuiltJudgement_BUILT_NONE:
			c.Add("judgement", "", "missing", "say passed, rework, remake or returned")
		case event.BuiltJudgement_BUILT_PASSED:
			if len(b.GetBuild().GetSpecs()) == 0 {
				c.Add("build", "", "nothing was measured", "measure the club before it passes")
			}
		default:
			if b.GetReason() == "" {
				c.Add("reason", "", "missing", "say what is wrong with it")
			}
		}
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		if s := f.sessionOf(ev); s != nil {
			s.Built = append(s.Built, Built{ev.Id, ev.EffectiveUnixNs, ev.Who, ev.GetClubBuilt()})
		}
	},
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		for _, o := range p.Timeline.Orders() {
			if b := ev.GetClubBuilt(); o.Number() == b.GetOrder() {
				return o.MayPass(b)
			}
		}
		return nil // as of moves
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		b := ev.GetClubBuilt()
		return fmt.Sprintf("order %s, %s: %s", order.Label(b.GetOrder()), b.GetClub(), spaced(b.GetJudgement().String(), "BUILT_"))
	},
})
