package console

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	bench "fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
)

// boardView is the workshop's board.
type boardView struct {
	Columns []lane
	Usual   string // from verdict to ready: the middle of the last ones
	Key     string
	Found   []orderView // what a search found; nil: nothing was looked for
}

type lane struct {
	State  string
	Orders []orderView
}

// delivered is how many of the orders that are done the board still shows.
const delivered = 10

func (s *server) boardView(r *http.Request) (v boardView) {
	all := s.book.all(r.Context())
	find := strings.TrimSpace(r.FormValue("find"))
	by := map[event.OrderState][]orderView{}
	var took []time.Duration
	for _, o := range slices.Backward(all) {
		head := s.orderHead(o, "")
		if find != "" && found(head, o, find) {
			v.Found = append(v.Found, head)
		}
		state, _ := o.State()
		if head.Done && len(by[state]) >= delivered {
			continue
		}
		by[state] = append(by[state], head)
		if d, ok := o.Since(event.OrderState_ORDER_READY); ok && len(took) < 20 {
			took = append(took, d+s.beforeOrder(o))
		}
	}
	for _, state := range append(slices.Clone(stateWords), event.OrderState_ORDER_CANCELLED) {
		if state == event.OrderState_ORDER_CANCELLED && len(by[state]) == 0 {
			continue
		}
		v.Columns = append(v.Columns, lane{stateWord(state), by[state]})
	}
	if len(took) > 0 {
		slices.Sort(took)
		v.Usual = sayTook(took[len(took)/2])
	}
	return v
}

// found says whether an order has what was looked for: a part of the player's
// name, its number, a date, a head or shaft.
func found(head orderView, o *visit.Order, find string) bool {
	has := func(text string) bool { return strings.Contains(strings.ToLower(text), strings.ToLower(find)) }
	if number, err := bench.ParseNumber(find); err == nil && number == head.Number {
		return true
	}
	if has(head.Player) || has(head.Label) || has(head.Placed) || has(time.Unix(0, o.At).Format("2006-01-02")) {
		return true
	}
	for _, c := range o.Given.GetClubs() {
		for _, spec := range c.GetBuild().GetSpecs() {
			if has(spec.GetText()) {
				return true
			}
		}
	}
	return false
}
