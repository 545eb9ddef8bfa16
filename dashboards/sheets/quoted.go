package sheets

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
	"fairlead/processors/visit/stock"
)

// Quoted is what an order of a session costs, by the prices of when it was placed.
type Quoted struct {
	Order string       `json:"order"` // its number, as on its label
	Clubs []string     `json:"clubs"`
	Lines []QuotedLine `json:"lines"`
	Total string       `json:"total,omitempty"` // empty: no sum can be made
	Note  string       `json:"note,omitempty"`  // what the total is without
}

// QuotedLine is one kind of part at one price.
type QuotedLine struct {
	What   string `json:"what"`
	Pieces int64  `json:"pieces"`
	Each   string `json:"each,omitempty"` // empty: no price is known
	Sum    string `json:"sum,omitempty"`
}

// quoted lists the quotes of a session's orders that stand; none where the studio's
// catalogue says nothing of an order's parts.
func quoted(tl *visit.Timeline, session string) (out []Quoted) {
	for _, o := range tl.Orders() {
		placed := o.Placed.Given
		if state, _ := o.State(); o.Session.ID != session || state == event.OrderState_ORDER_CANCELLED || len(placed.GetParts()) == 0 {
			continue
		}
		q, whole := stock.QuoteOf(placed)
		one := Quoted{Order: order.Label(o.Number())}
		for _, c := range placed.GetClubs() {
			one.Clubs = append(one.Clubs, c.GetName())
		}
		at := map[string]int{}
		sums := map[string]int64{}
		for _, l := range q.Lines {
			what, each := stock.KindWord(l.Kind)+"s", stock.Price(l.Each, l.Currency)
			if l.Kind == event.PartKind_PART_WORK {
				what = "work"
			}
			i, there := at[what+each]
			if !there {
				i = len(one.Lines)
				at[what+each] = i
				one.Lines = append(one.Lines, QuotedLine{What: what, Each: each})
			}
			one.Lines[i].Pieces += l.Pieces
			sums[what+each] += l.Sum()
			one.Lines[i].Sum = stock.Price(sums[what+each], l.Currency)
		}
		var without []string
		if whole {
			one.Total = stock.Price(q.Total, q.Currency)
		} else {
			without = append(without, "no sum: prices are missing, or stand in several currencies")
		}
		if q.Unpriced > 0 {
			without = append(without, fmt.Sprintf("without %s of no known price", plural(int(q.Unpriced), "piece", "pieces")))
		}
		if len(q.Without) > 0 {
			without = append(without, "without "+listed(q.Without)+", of which nothing is in the catalogue")
		}
		one.Note = strings.Join(without, "; ")
		out = append(out, one)
	}
	return out
}

// In says a quote in one line.
func (q Quoted) In() string {
	text := fmt.Sprintf("Order %s, %s", q.Order, listed(q.Clubs))
	if q.Total != "" {
		text += ": " + q.Total
	}
	if q.Note != "" {
		text += " (" + q.Note + ")"
	}
	return text
}
