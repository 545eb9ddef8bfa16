package studio

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"fairlead/ingest/bay/feed"
)

// lazySource opens its source when it is run, and anew when the feed's map was
// corrected: the lines that come after it are read with the new one. A map that
// cannot be used does not take the place of one that can.
type lazySource struct {
	open  func(context.Context) (feed.Source, error)
	path  string // of the map; empty: it is not watched
	log   *slog.Logger
	every time.Duration // between looks at the map; 0: 3 s

	guard *guard // nil: the shots are not asked
	trial *trial // nil: the feed is not on trial
	note  string // what the feed's state says beside what the source does

	mu      sync.Mutex
	source  feed.Source
	problem string // why a changed map is not used
}

// Run is feed.Source.Run.
func (l *lazySource) Run(ctx context.Context, from []byte, emit feed.Emit) error {
	for {
		var err error
		changed := false
		from, changed, err = l.once(ctx, from, emit)
		if ctx.Err() != nil || !changed {
			return err
		}
		l.log.Info("the feed's map was changed and is used from here on", "map", l.path)
	}
}

// once runs the source until its map changes.
func (l *lazySource) once(ctx context.Context, from []byte, emit feed.Emit) (at []byte, changed bool, err error) {
	inner, cancel := context.WithCancel(ctx)
	defer cancel() // ends what open started
	version := mapVersion(l.path)
	s, err := l.open(inner)
	if err != nil {
		l.trial.failed(err)
		return from, false, err
	}
	l.mu.Lock()
	l.source, l.problem = s, ""
	l.mu.Unlock()
	newer := make(chan struct{})
	var watching sync.WaitGroup
	watching.Go(func() {
		if l.path != "" && l.await(inner, version) {
			close(newer)
			cancel()
		}
	})
	if l.guard != nil {
		if m, err := feed.LoadMap(l.path); err == nil {
			l.guard.begin(m)
			watching.Go(func() { l.guard.run(inner) })
		}
	}
	var mu sync.Mutex
	at = from
	err = s.Run(inner, from, func(_ context.Context, b feed.Batch) error {
		err := emit(ctx, b) // a batch under way is finished, whatever the map does
		if err == nil && l.guard != nil {
			l.guard.add(b.Drafts)
		}
		if err == nil {
			l.trial.saw(b.Drafts)
		}
		if err == nil && b.Position != nil {
			mu.Lock()
			at = b.Position
			mu.Unlock()
		}
		return err
	})
	cancel()
	watching.Wait()
	select {
	case <-newer:
		return at, errors.Is(err, context.Canceled), err
	default:
		return at, false, err
	}
}

// await waits until the map is another one that can be used; false when ctx ends.
func (l *lazySource) await(ctx context.Context, version string) bool {
	every := l.every
	if every == 0 {
		every = 3 * time.Second
	}
	tick := time.NewTicker(every)
	defer tick.Stop()
	refused := ""
	for {
		select {
		case <-ctx.Done():
			return false
		case <-tick.C:
		}
		now := mapVersion(l.path)
		if now == "" || now == version || now == refused {
			continue
		}
		if _, err := feed.LoadMap(l.path); err != nil {
			refused = now
			l.say("the changed map is not used: " + err.Error())
			l.log.Error("the feed's map was changed and cannot be used; reading goes on with the one before", "map", l.path, "error", err)
			continue
		}
		return true
	}
}

func (l *lazySource) say(problem string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.problem = problem
}

// State is feed.Source.State.
func (l *lazySource) State() feed.State {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.source == nil {
		return feed.State{State: feed.StateWaiting}
	}
	s := l.source.State()
	switch {
	case l.problem != "":
		s.Detail = l.problem
	case s.State == feed.StateOK && s.Detail == "" && l.guard != nil:
		s.Detail = l.guard.says()
	}
	if s.Detail == "" && s.State == feed.StateOK {
		s.Detail = l.note
	}
	return s
}
