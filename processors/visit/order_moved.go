package visit

import (
	"fmt"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
)

// Move is a change of where an order stands.
type Move struct {
	Event string
	At    int64
	Who   string
	Given *event.OrderMoved
}

var _ = kind(Kind{
	Name: "order_moved", Bears: OnPages, Apart: true, Keeps: []string{"order", "state"},
	Acts: []Act{{
		Name: "shop", Short: "Say where an order stands in the workshop",
		Example: "shop --bay north K7P4XA8 curing --cure 24h --holder f-bench",
		Fields: []Field{
			{Name: "order", Arg: 1, Help: "number of the order"},
			{Name: "state", Arg: 2, Choices: words("ORDER_", event.OrderState_name), Help: "where it stands"},
			{Name: "holder", Help: "who has it"},
			{Name: "cure", Help: "how long the epoxy cures by its data sheet, such as 24h; needed for curing"},
			{Name: "waits_for", Help: "what it waits for"},
			{Name: "promised", Help: "a new day for the player, 2026-06-12"},
			{Name: "words", Help: "in words; needed to cancel"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			m := &event.OrderMoved{Order: r.orderNumber(), State: event.OrderState(r.choice("state", "ORDER_", event.OrderState_value, -1)),
				Holder: r.Text("holder"), WaitsFor: r.Text("waits_for"), PromisedUnixNs: r.day("promised"), Words: r.Text("words")}
			if text := r.Text("cure"); text != "" {
				d, err := time.ParseDuration(text)
				if err != nil || d <= 0 || d > 60*24*time.Hour {
					r.Bad("cure", text, "is no time to cure", "write it as the data sheet says, such as 24h or 90m")
				}
				m.CureUntilUnixNs = r.now() + int64(d)
			}
			ev.Session = r.sessionOfOrder(m.Order)
			ev.Body = &event.VisitEvent_OrderMoved{OrderMoved: m}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		m := ev.GetOrderMoved()
		needSession(c, ev)
		checkNumber(c, m.GetOrder())
		c.Choice("state", int32(m.GetState()), event.OrderState_name)
		c.ID("holder", m.GetHolder(), true)
		c.Text("waits_for", m.GetWaitsFor(), event.LongestLabel)
		c.Text("words", m.GetWords(), event.LongestText)
		checkDay(c, "promised", m.GetPromisedUnixNs())
		switch {
		case m.GetState() == event.OrderState_ORDER_CURING && m.GetCureUntilUnixNs() <= ev.GetEffectiveUnixNs():
			c.Add("cure", "", "no time to cure is given", "enter how long the epoxy's data sheet says, such as 24h")
		case m.GetState() == event.OrderState_ORDER_CANCELLED && m.GetWords() == "":
			c.Add("words", "", "missing", "say why it is cancelled")
		}
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		f.taken(ev.GetOrderMoved().GetOrder()).move(ev)
		if s := f.sessionOf(ev); s != nil {
			s.Moves = append(s.Moves, Move{ev.Id, ev.EffectiveUnixNs, ev.Who, ev.GetOrderMoved()})
		}
	},
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		for _, o := range p.Timeline.Orders() {
			if m := ev.GetOrderMoved(); o.Number() == m.GetOrder() {
				return o.MayMove(m, ev.EffectiveUnixNs)
			}
		}
		return nil // of longer ago than is remembered here: the page asks the store
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		m := ev.GetOrderMoved()
		return fmt.Sprintf("order %s: %s", order.Label(m.GetOrder()), spaced(m.GetState().String(), "ORDER_"))
	},
})

// orderNumber reads an order's number as people write it.
func (r *Reader) orderNumber() string {
	number, err := order.ParseNumber(r.Text("order"))
	if err != nil {
		r.Bad("order", r.Text("order"), "is no number of an order", err.Error())
	}
	return number
}

// sessionOfOrder is the session whose verdict an order follows; empty: not known.
func (r *Reader) sessionOfOrder(number string) string {
	for _, s := range r.Place.Timeline.Sessions {
		for _, o := range s.Orders {
			if o.Given.GetOrder() == number {
				return s.ID
			}
		}
	}
	return r.Text("session")
}

// now is what a length of time counts from: the time that the form names, else
// that of the bay's clock; 0 where none is known.
func (r *Reader) now() int64 {
	if r.Place.Now != 0 {
		return r.Place.Now
	}
	return r.instant("at_unix_ns")
}
