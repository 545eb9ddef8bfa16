package fleet

import (
	"context"
	"log/slog"
	"net/http"
	"sync/atomic"

	"fairlead/processors/ask/answers"
	"fairlead/processors/hub/store"
)

// Late is the pages of the fleet once the store is known: pages beside them do
// not wait for it.
type Late struct {
	Answers atomic.Pointer[answers.Fleet]
	Store   atomic.Pointer[store.Store] // for build sheets and reports
	pages   atomic.Pointer[Handler]
}

// Run opens the store, which may take long, and runs the pages' jobs until ctx ends.
func (f *Late) Run(ctx context.Context, open func(context.Context) (*store.Store, error), log *slog.Logger, o Options) {
	s, err := open(ctx)
	if err != nil {
		return // ctx ended, or store.dsn is wrong, which the hub's process says
	}
	defer s.Close()
	pages := New(s, log, o)
	f.Answers.Store(answers.New(s, answers.Options{Logger: log}))
	f.pages.Store(pages)
	f.Store.Store(s)
	pages.Run(ctx)
}

func (f *Late) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if pages := f.pages.Load(); pages != nil {
		pages.ServeHTTP(w, r)
		return
	}
	http.Error(w, "The store was not started yet: the fleet can be asked once `fairlead engine`, or the ClickHouse server of store.dsn, "+
		"answers.", http.StatusServiceUnavailable)
}
