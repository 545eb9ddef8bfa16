package visit

import (
	"fmt"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
)

// Mark is a mark on an order.
type Mark struct {
	Event string
	At    int64
	Who   string
	Given *event.OrderMarked
}

// A mark says that something was done, not how much: books are kept elsewhere.
var _ = kind(Kind{
	Name: "order_marked", Bears: OnPages, Apart: true, Keeps: []string{"order", "mark"},
	Acts: []Act{{
		Name: "account", Short: "Mark an order as quoted, with a deposit, paid or paid back; no bookkeeping",
		Example: "account --bay north K7P4XA8 deposit",
		Fields: []Field{
			{Name: "order", Arg: 1, Help: "number of the order"},
			{Name: "mark", Arg: 2, Choices: words("MARK_", event.OrderMark_name)[1:], Help: "what was done"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			m := &event.OrderMarked{Order: r.orderNumber(), Mark: event.OrderMark(r.choice("mark", "MARK_", event.OrderMark_value, -1))}
			ev.Session = r.sessionOfOrder(m.Order)
			ev.Body = &event.VisitEvent_OrderMarked{OrderMarked: m}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		m := ev.GetOrderMarked()
		needSession(c, ev)
		checkNumber(c, m.GetOrder())
		c.Choice("mark", int32(m.GetMark()), event.OrderMark_name)
		if m.GetMark() == event.OrderMark_MARK_NONE {
			c.Add("mark", "", "missing", "say quoted, deposit, paid or paid back")
		}
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		if s := f.sessionOf(ev); s != nil {
			s.Marks = append(s.Marks, Mark{ev.Id, ev.EffectiveUnixNs, ev.Who, ev.GetOrderMarked()})
		}
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		m := ev.GetOrderMarked()
		return fmt.Sprintf("order %s: %s", order.Label(m.GetOrder()), spaced(m.GetMark().String(), "MARK_"))
	},
})

// MarkWord is a mark for people.
func MarkWord(m event.OrderMark) string { return spaced(m.String(), "MARK_") }
