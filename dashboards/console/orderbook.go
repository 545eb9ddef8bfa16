package console

import (
	"context"
	"log/slog"
	"slices"
	"sync"
	"time"

	"fairlead/ingest/contract/event"
	bench "fairlead/processors/golf/club/order"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
)

// orderBook knows all orders of the studio: those of the last weeks from the
// console's own memory, at once, and older ones from the store.
type orderBook struct {
	studio string
	bays   []string
	writer *Writer
	store  func() *store.Store
	log    *slog.Logger

	mu    sync.Mutex
	logs  map[string]*visit.Log
	asked time.Time // the store
}

// orderKinds are what an order is told from.
var orderKinds = []string{"session_opened", "session_corrected", "session_erased", "verdict_given", "order_placed", "order_moved",
	"club_built", "voided"}

// askAgain is how old may be what the store said: it holds nothing new, since
// the console wrote all that it holds.
const askAgain = 10 * time.Minute

func newOrderBook(o Options, w *Writer, log *slog.Logger) *orderBook {
	return &orderBook{studio: o.Studio, bays: o.Bays, writer: w, store: o.Store, log: log, logs: map[string]*visit.Log{}}
}

// all lists the orders that stand, oldest first.
func (b *orderBook) all(ctx context.Context) (out []*visit.Order) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.recall(ctx)
	for _, bay := range b.bays {
		l := b.of(bay)
		for _, ev := range b.writer.Events(bay) {
			if slices.Contains(orderKinds, event.KindOf(ev)) {
				l.Add(ev)
			}
		}
		out = append(out, l.Timeline().Orders()...)
	}
	slices.SortStableFunc(out, func(x, y *visit.Order) int { return int(min(max(x.At-y.At, -1), 1)) })
	return out
}

// recall asks the store; while it is away, the latest orders show all the same.
func (b *orderBook) recall(ctx context.Context) {
	if b.store == nil || time.Since(b.asked) < askAgain {
		return
	}
	s := b.store()
	if s == nil {
		return
	}
	events, err := s.EventsOfKinds(ctx, b.studio, orderKinds)
	if err != nil {
		b.log.Warn("orders of longer ago can't be read", "error", err)
		return
	}
	b.asked = time.Now()
	for _, ev := range events {
		b.writer.open(ev)
		b.of(ev.Bay).Add(ev)
	}
}

func (b *orderBook) of(bay string) *visit.Log {
	if b.logs[bay] == nil {
		b.logs[bay] = &visit.Log{}
	}
	return b.logs[bay]
}

// find is the order of a number, with its bay; nil: there is none.
func (b *orderBook) find(ctx context.Context, number string) (*visit.Order, string) {
	for _, o := range b.all(ctx) {
		if o.Number() == number {
			b.mu.Lock()
			defer b.mu.Unlock()
			for bay, l := range b.logs {
				if s := l.Timeline().Session(o.Session.ID); s != nil && s.MovedTo == "" && l.Event(o.Event) != nil {
					return o, bay
				}
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
