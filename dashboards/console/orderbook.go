package console

import (
	"cmp"
	"context"
	"log/slog"
	"slices"

	"fairlead/ingest/contract/event"
	bench "fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
)

// orderBook knows all orders of the studio.
type orderBook struct {
	*memory
	decisions keptOf[[]decision]
}

// decision is a verdict for a build, what was ordered by it, and when its club was hit
// last to check it; 0: never.
type decision struct {
	of      *visit.Session
	verdict visit.Verdict
	orders  []*visit.Order
	hit     int64
}

// orderKinds are what an order is told from.
var orderKinds = []string{"session_opened", "session_corrected", "session_erased", "verdict_given", "hit_checked", "order_placed",
	"order_moved",
	"club_built", "order_marked", "parts_listed", "stock_counted", "test_club_placed", "bay_checked",
	"voided"}

func newOrderBook(o Options, w *Writer, log *slog.Logger) *orderBook {
	return &orderBook{memory: newMemory(o, w, log, orderKinds)}
}

// decided lists the verdicts for a build that stand, the latest first. Each page of a bay
// asks, with each shot.
func (b *orderBook) decided(ctx context.Context) []decision {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.decisions.get(b.folded(ctx), decisionsOf)
}

func decisionsOf(bays map[string]*visit.Timeline) (out []decision) {
	hit := map[string]int64{}
	for _, tl := range bays {
		for _, s := range tl.Sessions {
			for _, c := range s.Checks {
				hit[c.Made.GetVerdict()] = max(c.At, hit[c.Made.GetVerdict()])
			}
		}
	}
	for _, tl := range bays {
		placed := map[string][]*visit.Order{}
		for _, o := range tl.Orders() {
			placed[o.Placed.Given.GetVerdict()] = append(placed[o.Placed.Given.GetVerdict()], o)
		}
		for _, s := range tl.Sessions {
			for _, v := range s.Verdicts {
				if v.Given.GetKind() == event.VerdictKind_VERDICT_BUILD && s.MovedTo == "" {
					out = append(out, decision{s, v, placed[v.Event], hit[v.Event]})
				}
			}
		}
	}
	slices.SortStableFunc(out, func(x, y decision) int { return cmp.Compare(y.verdict.At, x.verdict.At) })
	return out
}

// all lists the orders that stand, oldest first.
func (b *orderBook) all(ctx context.Context) (out []*visit.Order) {
	for _, tl := range b.timelines(ctx) {
		out = append(out, tl.Orders()...)
	}
	slices.SortStableFunc(out, func(x, y *visit.Order) int { return int(min(max(x.At-y.At, -1), 1)) })
	return out
}

// find is the order of a number, with its bay; nil: there is none.
func (b *orderBook) find(ctx context.Context, number string) (*visit.Order, string) {
	for bay, tl := range b.timelines(ctx) {
		for _, o := range tl.Orders() {
			if o.Number() == number {
				return o, bay
			}
		}
	}
	return nil, ""
}

// freshNumber is an order's number that no other order of the last weeks has.
func (w *Writer) freshNumber(unique string) string {
	taken := map[string]bool{}
	for _, l := range w.logs {
		for _, o := range l.Timeline().Orders() {
			taken[o.Number()] = true
		}
	}
	for again := 0; ; again++ {
		if number := bench.NumberFrom(unique, again); !taken[number] {
			return number
		}
	}
}
