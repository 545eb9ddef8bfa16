package collector

import (
	"context"
	"log/slog"
	"sync"
)

// Following is the feeds that a running collector follows. Its methods may be
// called from several goroutines.
type Following interface {
	// Put follows a feed from where the journal says that it was read to. One of the
	// same name that is followed is ended first: nothing is read twice, nothing left out.
	Put(Feed)
	// Drop ends a feed. Its place in the journal stays, for the day it comes back.
	Drop(name string)
}

// followed is the feeds of one run.
type followed struct {
	in   *intake
	do   chan func()
	done <-chan struct{}
	put  func(Feed)
	drop func(string)
	end  func()
}

// newFollowed makes the feeds of a run that lasts as long as ctx.
func newFollowed(ctx context.Context, in *intake, c *clock, log *slog.Logger) *followed {
	type life struct {
		cancel context.CancelFunc
		ended  chan struct{}
	}
	lives := map[string]life{}
	var running sync.WaitGroup
	f := &followed{in: in, do: make(chan func()), done: ctx.Done(), end: running.Wait}
	f.drop = func(name string) {
		if l, ok := lives[name]; ok {
			l.cancel()
			<-l.ended
			delete(lives, name)
		}
	}
	f.put = func(feed Feed) {
		f.drop(feed.Name)
		in.mu.Lock()
		state := in.feed(feed.Name)
		state.source, state.latest = feed.Source, latest{} // what another map refused says nothing of this one
		in.mu.Unlock()
		own, cancel := context.WithCancel(ctx)
		l := life{cancel, make(chan struct{})}
		lives[feed.Name] = l
		running.Go(func() {
			defer close(l.ended)
			defer cancel()
			runFeed(own, feed, in, c, log.With("feed", feed.Name))
		})
	}
	return f
}

// run does what is asked, one thing after the other, until the run ends.
func (f *followed) run() {
	defer f.end()
	for {
		select {
		case <-f.done:
			return
		case do := <-f.do:
			do()
		}
	}
}

func (f *followed) ask(do func()) {
	select {
	case f.do <- do:
	case <-f.done:
	}
}

// Put is Following.Put.
func (f *followed) Put(feed Feed) { f.ask(func() { f.put(feed) }) }

// Drop is Following.Drop.
func (f *followed) Drop(name string) {
	f.ask(func() {
		f.drop(name)
		f.in.mu.Lock()
		defer f.in.mu.Unlock()
		delete(f.in.feeds, name)
		f.in.metrics.feedUp.DeleteLabelValues(name)
	})
}
