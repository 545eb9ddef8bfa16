package console

import (
	"context"
	"log/slog"
	"maps"
	"slices"
	"sync"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
	"fairlead/processors/visit/stock"
)

// memory knows events of some kinds of the whole studio: those of the last weeks
// from the console's own log, at once, and older ones from the store.
type memory struct {
	studio string
	bays   []string
	writer *Writer
	store  func() *store.Store
	log    *slog.Logger
	kinds  []string

	mu      sync.Mutex
	logs    map[string]*visit.Log
	asked   time.Time      // the store
	taken   map[string]int // facts of the console's own log by bay, when it was last looked through
	shelf   keptOf[*stock.Shelf]
	files   keptOf[map[string]*visit.File]
	checked keptOf[*visit.Checks]
}

// keptOf is what was made of the bays' timelines, kept while none of them changed.
type keptOf[T any] struct {
	of   map[string]*visit.Timeline
	made T
}

func (k *keptOf[T]) get(now map[string]*visit.Timeline, make func(map[string]*visit.Timeline) T) T {
	if k.of == nil || !maps.Equal(k.of, now) {
		k.of, k.made = now, make(now)
	}
	return k.made
}

// askAgain is how old may be what the store said: it holds nothing new, since
// the console wrote all that it holds.
const askAgain = 10 * time.Minute

func newMemory(o Options, w *Writer, log *slog.Logger, kinds []string) *memory {
	return &memory{studio: o.Studio, bays: o.Bays, writer: w, store: o.Store, log: log, kinds: kinds, logs: map[string]*visit.Log{},
		taken: map[string]int{}}
}

// opened is the store; errNoStore where there is none, or it is not known yet.
func (m *memory) opened() (*store.Store, error) {
	if m.store == nil {
		return nil, errNoStore
	}
	if st := m.store(); st != nil {
		return st, nil
	}
	return nil, errNoStore
}

// timelines are what the studio's bays say, by bay.
func (m *memory) timelines(ctx context.Context) map[string]*visit.Timeline {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.folded(ctx)
}

func (m *memory) folded(ctx context.Context) map[string]*visit.Timeline {
	m.renew(ctx)
	out := map[string]*visit.Timeline{}
	for _, bay := range m.bays {
		out[bay] = m.of(bay).Timeline()
	}
	return out
}

// stock is the studio's catalogue and shelf.
func (m *memory) stock(ctx context.Context) *stock.Shelf {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.shelf.get(m.folded(ctx), visit.ShelfOf)
}

// players are the files of all players.
func (m *memory) players(ctx context.Context) map[string]*visit.File {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.files.get(m.folded(ctx), visit.FilesOf)
}

// checks are the hit checks of the whole studio.
func (m *memory) checks(ctx context.Context) *visit.Checks {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.checked.get(m.folded(ctx), func(map[string]*visit.Timeline) *visit.Checks {
		c := &visit.Checks{}
		for _, bay := range m.bays {
			for _, ev := range m.of(bay).All() {
				c.Add(ev)
			}
		}
		return c
	})
}

func (m *memory) renew(ctx context.Context) {
	m.recall(ctx)
	for _, bay := range m.bays {
		l := m.of(bay)
		n := m.writer.Facts(bay)
		if n == m.taken[bay] {
			continue
		}
		m.taken[bay] = n
		for _, ev := range m.writer.Events(bay) {
			if slices.Contains(m.kinds, event.KindOf(ev)) {
				l.Add(ev)
			}
		}
	}
}

// recall asks the store; while it is away, what is latest shows all the same.
func (m *memory) recall(ctx context.Context) {
	if m.store == nil || time.Since(m.asked) < askAgain {
		return
	}
	s := m.store()
	if s == nil {
		return
	}
	events, err := s.EventsOfKinds(ctx, m.studio, m.kinds)
	if err != nil {
		m.log.Warn("events of longer ago can't be read", "error", err)
		return
	}
	m.asked = time.Now()
	for _, ev := range events {
		m.writer.open(ev)
		m.of(ev.Bay).Add(ev)
	}
}

func (m *memory) of(bay string) *visit.Log {
	if m.logs[bay] == nil {
		m.logs[bay] = &visit.Log{}
	}
	return m.logs[bay]
}
