package visit

import (
	"fmt"

	"fairlead/ingest/contract/event"
)

// Bagged is what was said of clubs of a bag.
type Bagged struct {
	Event string
	At    int64
	Who   string
	Given *event.BagMeasured
}

var _ = kind(Kind{
	Name: "bag_measured", Bears: OnPages, Apart: true, needs: needsLatest,
	Acts: []Act{{
		Name: "bag", Short: "Say what clubs of the player's bag are, stated or measured",
		Example: "bag --bay north '7i pw' --set 7i.length=37in --measured 7i.loft=31.2deg --carry 7i=150yd",
		Fields: []Field{
			{Name: "clubs", Arg: 1, Rest: true, Optional: true, Help: "clubs that are new in the bag, such as driver 3w 5-9i pw 56"},
			{Name: "set", Many: true, Help: "a figure as it is stated, CLUB.PART=VALUE; unknown takes it out"},
			{Name: "measured", Many: true, Help: "a figure as it was measured on this very club"},
			{Name: "carry", Many: true, Help: "how far a full shot carries by the player's word, CLUB=LENGTH"},
			{Name: "gone", Many: true, Help: "a club that left the bag"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Session = r.Text("session")
			ev.Body = &event.VisitEvent_BagMeasured{BagMeasured: &event.BagMeasured{Clubs: r.bag()}}
		},
	}},
	check: checkBag,
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		if s := f.sessionOf(ev); s != nil {
			s.Bagged = append(s.Bagged, Bagged{ev.Id, ev.EffectiveUnixNs, ev.Who, ev.GetBagMeasured()})
		}
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		if n := len(ev.GetBagMeasured().GetClubs()); n != 1 {
			return fmt.Sprintf("the bag: %d clubs", n)
		}
		return "the bag: " + ev.GetBagMeasured().Clubs[0].GetName()
	},
})

// mostInBag bounds the clubs that one entry may speak of.
const mostInBag = 40

func checkBag(c *event.Check, ev *event.VisitEvent) {
	b := ev.GetBagMeasured()
	needSession(c, ev)
	if n := len(b.GetClubs()); n == 0 || n > mostInBag {
		c.Add("clubs", n, fmt.Sprintf("not 1 to %d clubs changed", mostInBag), "write a figure of a club, or name a new one")
	}
	var names []string
	for i, one := range b.GetClubs() {
		at := fmt.Sprintf("clubs[%d].", i)
		names = checkNamed(c, at, one, names)
		c.Build(at+"build", one.GetBuild())
		c.Number(at+"carry_m", one.GetCarryM(), 0, 400, "m")
	}
}
