package gate

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"os"
	"sync"
	"time"

	"github.com/alexedwards/scs/v2"

	"fairlead/ingest/log/durable"
)

const (
	sessionFor = 12 * time.Hour // a working day
	idleFor    = 4 * time.Hour  // without a tap
	touchEach  = 5 * time.Minute
)

// sessionStore keeps sessions in one small file, so that a console that is
// started anew knows them. Tokens come hashed.
type sessionStore struct {
	file string
	now  func() time.Time

	mu  sync.Mutex
	all map[string]keptSession
}

type keptSession struct {
	Data   []byte    `json:"data"`
	Expiry time.Time `json:"expiry"`
}

func openSessions(file string, now func() time.Time) (*sessionStore, error) {
	s := &sessionStore{file: file, now: now, all: map[string]keptSession{}}
	text, err := os.ReadFile(file)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return s, nil
	case err != nil:
		return nil, fmt.Errorf("sessions: %w", err)
	}
	if err := Closed(file); err != nil {
		return nil, err
	}
	if json.Unmarshal(text, &s.all) != nil || s.all == nil {
		s.all = map[string]keptSession{} // everybody signs in again
	}
	return s, nil
}

// Find is of scs.Store.
func (s *sessionStore) Find(token string) ([]byte, bool, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	k, ok := s.all[token]
	if !ok || !k.Expiry.After(s.now()) {
		return nil, false, nil
	}
	return k.Data, true, nil
}

// Commit is of scs.Store.
func (s *sessionStore) Commit(token string, b []byte, expiry time.Time) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all[token] = keptSession{b, expiry}
	return s.write()
}

// Delete is of scs.Store.
func (s *sessionStore) Delete(token string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, ok := s.all[token]; !ok {
		return nil
	}
	delete(s.all, token)
	return s.write()
}

// All is of scs.IterableStore.
func (s *sessionStore) All() (map[string][]byte, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	out := map[string][]byte{}
	for token, k := range s.all {
		if k.Expiry.After(s.now()) {
			out[token] = k.Data
		}
	}
	return out, nil
}

func (s *sessionStore) write() error {
	for token, k := range s.all {
		if !k.Expiry.After(s.now()) {
			delete(s.all, token)
		}
	}
	text, err := json.Marshal(s.all)
	if err != nil {
		return fmt.Errorf("sessions: %w", err)
	}
	if err := durable.WriteFile(s.file, text, 0o600); err != nil {
		return fmt.Errorf("sessions: %w", err)
	}
	return nil
}

func newSessions(store *sessionStore, secure bool) *scs.SessionManager {
	// Made by hand: scs.New begins a clean-up of a store that is not used here.
	return &scs.SessionManager{Store: store, HashTokenInStore: true, Lifetime: sessionFor, Codec: scs.GobCodec{},
		Cookie: scs.SessionCookie{Name: "fairlead_session", Path: "/", HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: secure,
			Persist: true}}
}
