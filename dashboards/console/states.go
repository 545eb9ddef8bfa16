package console

import (
	"bytes"
	"context"
	"encoding/json"
	"log/slog"
	"strings"
	"sync"
	"time"

	"github.com/nats-io/nats.go"

	"fairlead/ingest/log/stream"
	"fairlead/ingest/log/vault"
	"fairlead/processors/hub/sink"
	"fairlead/processors/visit/rolling"
)

// latest is a bay's newest state as the hub gave it.
type latest struct {
	data  []byte // JSON, not to be changed
	state *rolling.State
	heard time.Time // when the hub last gave or confirmed it
}

// states keeps the newest state of each bay and wakes who watches.
type states struct {
	studio string
	keys   *vault.Ring // the hub's state holds what people wrote sealed
	now    func() time.Time
	log    *slog.Logger

	mu       sync.Mutex
	bays     map[string]latest
	watchers map[string]map[chan struct{}]struct{}
}

func newStates(studio string, bays []string, keys *vault.Ring, now func() time.Time, log *slog.Logger) *states {
	s := &states{studio: studio, keys: keys, now: now, log: log, bays: map[string]latest{}, watchers: map[string]map[chan struct{}]struct{}{}}
	for _, b := range bays {
		s.bays[b] = latest{}
		s.watchers[b] = map[chan struct{}]struct{}{}
	}
	return s
}

func (s *states) get(bay string) latest {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.bays[bay]
}

// take keeps a state and wakes the bay's watchers.
func (s *states) take(bay string, data []byte) {
	data = s.keys.OpenJSON(data)
	var state rolling.State
	if err := json.Unmarshal(data, &state); err != nil {
		s.log.Warn("a state of the hub can't be read", "bay", bay, "error", err)
		return
	}
	s.mu.Lock()
	old, known := s.bays[bay]
	if !known {
		s.mu.Unlock()
		return // a bay that the configuration does not name
	}
	if old.state != nil && old.state.At > state.At {
		s.mu.Unlock()
		return // an answer that was overtaken by a newer state
	}
	s.bays[bay] = latest{data, &state, s.now()}
	s.mu.Unlock()
	if !bytes.Equal(old.data, data) {
		s.wake(bay)
	}
}

// wake tells watchers that a bay changed. A watcher that has not looked yet is
// told once: it reads the newest state anyway.
func (s *states) wake(bay string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for c := range s.watchers[bay] {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}

// watch returns a channel that is written to after each change, and how to stop.
func (s *states) watch(bay string) (<-chan struct{}, func()) {
	c := make(chan struct{}, 1)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.watchers[bay][c] = struct{}{}
	return c, func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		delete(s.watchers[bay], c)
	}
}

// subscribe takes states as the hub sends them.
func (s *states) subscribe(nc *nats.Conn) (*nats.Subscription, error) {
	return nc.Subscribe("live."+s.studio+".*.state", func(m *nats.Msg) {
		if parts := strings.Split(m.Subject, "."); len(parts) == 4 {
			s.take(parts[2], m.Data)
		}
	})
}

// askEvery is how often the hub is asked, so that a page knows whether its
// state is still the newest, and gets one that it missed.
const askEvery = 3 * time.Second

// silentHub is after how long without an answer the page says so.
const silentHub = 3 * askEvery

// ask asks for the bays' states until ctx ends.
func (s *states) ask(ctx context.Context, nc *nats.Conn, bays []string) {
	for {
		for _, bay := range bays {
			if !nc.IsConnected() {
				break
			}
			one, cancel := context.WithTimeout(ctx, time.Second)
			m, err := nc.RequestWithContext(one, sink.StateSubject(stream.Place{Studio: s.studio, Bay: bay}), nil)
			cancel()
			if err != nil {
				continue // said on the page when it lasts
			}
			s.take(bay, m.Data)
			s.mu.Lock()
			if l := s.bays[bay]; l.state != nil {
				l.heard = s.now()
				s.bays[bay] = l
			}
			s.mu.Unlock()
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(askEvery):
		}
	}
}
