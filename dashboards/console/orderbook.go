package console

import (
	"context"
	"log/slog"
	"slices"

	bench "fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
)

// orderBook knows all orders of the studio.
type orderBook struct{ *memory }

// orderKinds are what an order is told from.
var orderKinds = []string{"session_opened", "session_corrected", "session_erased", "verdict_given", "hit_checked", "order_placed",
	"order_moved",
	"club_built", "order_marked", "parts_listed", "stock_counted", "test_club_placed", "bay_checked",
	"voided"}

func newOrderBook(o Options, w *Writer, log *slog.Logger) *orderBook {
	return &orderBook{newMemory(o, w, log, orderKinds)}
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
