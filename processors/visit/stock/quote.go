package stock

import (
	"fmt"

	"fairlead/ingest/contract/event"
)

// Line is one line of a quote: so many pieces of a part.
type Line struct {
	Code     string
	Kind     event.PartKind
	Pieces   int64
	Each     int64 // hundredths; 0: not known
	Currency string
}

// Quote is what an order costs by what its parts cost when it was placed.
type Quote struct {
	Lines    []Line
	Total    int64 // hundredths
	Currency string
	// Unpriced counts pieces of parts without a price: the total is without them.
	Unpriced int64
	// Clubs without any part of the catalogue: the total is without them too.
	Without []string
}

// QuoteOf adds up the parts of an order; ok is false where nothing has a
// price, or prices are in several currencies: there is no sum.
func QuoteOf(o *event.OrderPlaced) (q Quote, ok bool) {
	at := map[string]int{}
	single := true
	with := map[string]bool{}
	for _, p := range o.GetParts() {
		with[p.GetClub()] = true
		key := fmt.Sprint(p.GetCode(), " ", p.GetPrice(), " ", p.GetCurrency())
		i, there := at[key]
		if !there {
			i = len(q.Lines)
			at[key] = i
			q.Lines = append(q.Lines, Line{Code: p.GetCode(), Kind: p.GetKind(), Each: p.GetPrice(), Currency: p.GetCurrency()})
		}
		q.Lines[i].Pieces++
		if p.GetPrice() == 0 {
			q.Unpriced++
			continue
		}
		if q.Currency == "" {
			q.Currency = p.GetCurrency()
		}
		single = single && q.Currency == p.GetCurrency()
		q.Total += p.GetPrice()
	}
	for _, c := range o.GetClubs() {
		if !with[c.GetName()] {
			q.Without = append(q.Without, c.GetName())
		}
	}
	if !single {
		q.Total = 0
	}
	return q, single && q.Currency != ""
}

// Sum is what a line comes to.
func (l Line) Sum() int64 { return l.Each * l.Pieces }
