package visit

import (
	"fmt"
	"strconv"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
)

var _ = kind(Kind{
	Name: "stock_counted", Bears: OnPages, Studio: true, Keeps: []string{"part", "reason", "pieces", "order"},
	Acts: []Act{{
		Name: "stock", Short: "Say how many pieces of a part lie there, came, or went",
		Example: "stock --bay north SK2-7 counted 6",
		Fields: []Field{
			{Name: "part", Arg: 1, Help: "code of the catalogue"},
			{Name: "reason", Arg: 2, Choices: words("STOCK_", event.StockReason_name),
				Help: "counted: so many lie there; the others add or take away"},
			{Name: "pieces", Arg: 3, Help: "how many"},
			{Name: "order", Help: "number of the order that took them, beyond what it takes by itself"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			n := &event.StockCounted{Part: r.Text("part"), Pieces: r.pieces("pieces"),
				Reason: event.StockReason(r.choice("reason", "STOCK_", event.StockReason_value, -1))}
			if r.Text("pieces") == "" {
				r.Bad("pieces", "", "missing", "say how many")
			}
			if r.Text("order") != "" {
				n.Order = r.orderNumber()
			}
			ev.Body = &event.VisitEvent_StockCounted{StockCounted: n}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		n := ev.GetStockCounted()
		c.ID("part", n.GetPart(), false)
		c.Choice("reason", int32(n.GetReason()), event.StockReason_name)
		c.Number("pieces", float64(n.GetPieces()), 0, 1e6, "pieces")
		if n.GetPieces() == 0 && n.GetReason() != event.StockReason_STOCK_COUNTED {
			c.Add("pieces", 0, "changes nothing", "say how many")
		}
		if n.GetOrder() != "" {
			checkNumber(c, n.GetOrder())
		}
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) { f.shelved(ev) },
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		if code := ev.GetStockCounted().GetPart(); p.Shelf != nil && p.Shelf.Ever(code) == nil {
			return event.NewFault("part", code, "is no part of the catalogue", "list it first")
		}
		return nil
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		n := ev.GetStockCounted()
		text := fmt.Sprintf("shelf: %d of %s %s", n.GetPieces(), n.GetPart(), spaced(n.GetReason().String(), "STOCK_"))
		if n.GetOrder() != "" {
			text += " for order " + order.Label(n.GetOrder())
		}
		return text
	},
})

// pieces reads a whole number; absent gives 0.
func (r *Reader) pieces(name string) int64 {
	text := r.Text(name)
	if text == "" {
		return 0
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 0 {
		r.Bad(name, text, "is no number of pieces", "write a whole number from 0")
		return 0
	}
	return n
}
