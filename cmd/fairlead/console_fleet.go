package main

import (
	"context"
	"net/http"
	"sync/atomic"

	"fairlead/dashboards/fleet"
	"fairlead/processors/ask/answers"
	"fairlead/processors/hub/store"
)

// fleetPages are the pages of the fleet once the store is known: the bay pages
// do not wait for it.
type fleetPages struct {
	answers atomic.Pointer[answers.Fleet]
	pages   atomic.Pointer[fleet.Handler]
	store   atomic.Pointer[store.Store] // for build sheets and reports
}

// open waits for the store and runs the pages' jobs until ctx ends.
func (f *fleetPages) open(ctx context.Context, p *running) {
	s, err := p.config.AwaitStore(ctx, p.log)
	if err != nil {
		return // ctx ended, or store.dsn is wrong, which the hub's process says
	}
	defer s.Close()
	pages := fleet.New(s, p.log, fleet.Options{Studio: p.config.Studio, Imperial: p.config.Units == "imperial"})
	f.answers.Store(answers.New(s, answers.Options{Logger: p.log}))
	f.pages.Store(pages)
	f.store.Store(s)
	pages.Run(ctx)
}

func (f *fleetPages) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if pages := f.pages.Load(); pages != nil {
		pages.ServeHTTP(w, r)
		return
	}
	http.Error(w, "The store was not started yet: the fleet can be asked once `fairlead engine`, or the ClickHouse server of store.dsn, answers.", http.StatusServiceUnavailable)
}
