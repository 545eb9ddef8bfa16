package visit

import (
	"fmt"
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
)

// Placed is an order, with the id and time of its event.
type Placed struct {
	Event string
	At    int64
	Who   string
	Given *event.OrderPlaced
}

var _ = kind(Kind{
	Name: "order_placed", Bears: OnPages, Apart: true, Keeps: []string{"order", "verdict", "parts"},
	Acts: []Act{{
		Name: "order", Short: "Order the clubs of a verdict: one row a club, carried through the set by rule",
		Example: "order --bay north 01b2 '5-9i pw' --fix 5i.lie=61deg --promised 2026-06-12",
		Fields: []Field{
			{Name: "verdict", Arg: 1, Help: "id of the verdict that names the build"},
			{Name: "clubs", Arg: 2, Rest: true, Help: "clubs to make, such as 5-9i pw 56"},
			{Name: "hit", Help: "which club was hit (default by its category: 7i, driver, 3w, 4h, pw, putter)"},
			{Name: "fix", Many: true, Help: "a figure of one club that does not follow by rule, CLUB.PART=VALUE"},
			{Name: "length_step", Help: "from iron to iron (default half an inch)"},
			{Name: "lie_step", Help: "degrees more upright for each half inch shorter (default 0.5)"},
			{Name: "wedge_points", Help: "swing weight points that wedges read above the irons"},
			{Name: "raw", Help: "length of the uncut shaft, for the butt trim"},
			{Name: "tip_step", Help: "tip cut more for each half inch shorter, by the maker's chart"},
			{Name: "take", Many: true, Help: "a part of the catalogue for one club, CLUB.KIND=CODE; - takes none"},
			{Name: "own", Help: "the player's finished clubs are altered; else they are built from parts", Yes: true},
			{Name: "metal", Help: "of the heads, as the studio's catalogue says: cast, forged"},
			{Name: "bend", Help: "how far the catalogue lets these heads be bent, in degrees"},
			{Name: "unhit", Help: "it is ordered though nobody hit it like this", Yes: true},
			{Name: "promised", Help: "day on which the player is to have it, 2026-06-12"},
			{Name: "words", Help: "in words"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			d := r.order()
			ev.Session = d.Session
			ev.Body = &event.VisitEvent_OrderPlaced{OrderPlaced: d.Placed}
		},
	}},
	check: checkOrder,
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		f.taken(ev.GetOrderPlaced().GetOrder()).place(ev)
		if s := f.sessionOf(ev); s != nil {
			s.Orders = append(s.Orders, Placed{ev.Id, ev.EffectiveUnixNs, ev.Who, ev.GetOrderPlaced()})
		}
	},
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		o := ev.GetOrderPlaced()
		for _, s := range p.Timeline.Sessions {
			for _, other := range s.Orders {
				if other.Given.GetOrder() == o.GetOrder() && other.Event != ev.Id {
					return event.NewFault("order", o.GetOrder(), "is another order's number", "leave it out, and one is given")
				}
			}
		}
		return nil
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		o := ev.GetOrderPlaced()
		return fmt.Sprintf("order %s placed, %s", order.Label(o.GetOrder()), counted(len(o.GetClubs()), "club"))
	},
})

// mostClubs bounds the rows of an order: a whole bag and a few to choose from.
const mostClubs = 20

func checkOrder(c *event.Check, ev *event.VisitEvent) {
	o := ev.GetOrderPlaced()
	needSession(c, ev)
	checkNumber(c, o.GetOrder())
	c.ID("verdict", o.GetVerdict(), false)
	c.Text("words", o.GetWords(), event.LongestText)
	checkDay(c, "promised", o.GetPromisedUnixNs())
	if n := len(o.GetClubs()); n == 0 || n > mostClubs {
		c.Add("clubs", n, fmt.Sprintf("not 1 to %d clubs", mostClubs), "name the clubs to make")
	}
	for i, p := range o.GetParts() {
		at := fmt.Sprintf("parts[%d].", i)
		c.ID(at+"code", p.GetCode(), false)
		c.Choice(at+"kind", int32(p.GetKind()), event.PartKind_name)
		c.Number(at+"price", float64(p.GetPrice()), 0, 1e12, "hundredths")
		c.Text(at+"currency", p.GetCurrency(), 3)
		c.Text(at+"club", p.GetClub(), 40)
	}
	if n := len(o.GetParts()); n > mostClubs*5 {
		c.Add("parts", n, "more than five a club", "leave out what no club takes")
	}
	var names []string
	for i, one := range o.GetClubs() {
		at := fmt.Sprintf("clubs[%d].", i)
		names = checkNamed(c, at, one, names)
		if len(one.GetBuild().GetSpecs()) == 0 {
			c.Add(at+"build", "", "nothing is known of it", "say what to make")
		}
		c.Build(at+"build", one.GetBuild())
		for _, f := range append(slices.Clone(one.GetFixed()), one.GetDerived()...) {
			if _, ok := f.Info(); !ok {
				c.Add(at+"fixed", f, "unknown part", "update this program")
			}
		}
		c.Text(at+"metal", one.GetMetal(), event.LongestLabel)
		c.Number(at+"bend_limit_deg", one.GetBendLimitDeg(), 0, 10, "deg")
		c.Number(at+"rest_kg", one.GetRestKg(), 0, 0.1, "kg")
		c.Number(at+"unsure_points", one.GetUnsurePoints(), 0, 100, "points")
	}
}

// checkNumber checks an order's number.
func checkNumber(c *event.Check, number string) {
	if read, err := order.ParseNumber(number); err != nil {
		c.Add("order", number, "is no number of an order", "give the seven signs of its label")
	} else if read != number {
		c.Add("order", number, "is not written as numbers are kept", "write "+read)
	}
}

// checkDay checks a day that somebody was promised.
func checkDay(c *event.Check, field string, at int64) {
	const soonest, latest = 946684800e9, 4102444800e9 // 2000 to 2100
	if at != 0 && (at < soonest || at > latest) {
		c.Add(field, at, "is no day of this century", "write the day as 2026-06-12")
	}
}
