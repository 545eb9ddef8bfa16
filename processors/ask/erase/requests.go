package erase

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"fairlead/ingest/log/durable"
)

// Request asks for the erasure of a person. It is carried out once it is due, and
// can be taken back until then.
type Request struct {
	Player string    `json:"player"`
	Name   bool      `json:"name"`           // the file of people has a name, which goes too
	Role   string    `json:"role,omitempty"` // what the file of people says of it
	Asked  time.Time `json:"asked"`
	By     string    `json:"by"` // who asked: account, or hub
	Due    time.Time `json:"due"`
	Kept   time.Time `json:"kept,omitzero"` // taken back
	KeptBy string    `json:"kept_by,omitempty"`
	Done   time.Time `json:"done,omitzero"`
}

// Waits says whether it is neither done nor taken back.
func (r Request) Waits() bool { return r.Kept.IsZero() && r.Done.IsZero() }

// IsDue says whether it may be carried out. One that is done may be run again.
func (r Request) IsDue(now time.Time) bool { return r.Kept.IsZero() && !now.Before(r.Due) }

// ErrNoRequest says that no erasure of a person is asked for.
var ErrNoRequest = errors.New("no erasure is asked for of")

// Requests is the file of requests; the console alone writes it.
type Requests struct {
	file string
	mu   sync.Mutex
	all  []Request
}

// OpenRequests reads the file; one that is not there holds none yet.
func OpenRequests(file string) (*Requests, error) {
	q := &Requests{file: file}
	text, err := os.ReadFile(file)
	if errors.Is(err, os.ErrNotExist) {
		return q, nil
	}
	if err == nil {
		err = json.Unmarshal(text, &q.all)
	}
	if err != nil {
		return nil, fmt.Errorf("erasures %s: %w: mend the file; what was asked for stands in the trail too", file, err)
	}
	return q, nil
}

// List gives all requests, the latest last.
func (q *Requests) List() []Request {
	q.mu.Lock()
	defer q.mu.Unlock()
	return slices.Clone(q.all)
}

// Of is a person's latest request that was not taken back.
func (q *Requests) Of(player string) (Request, bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if i := q.at(player); i >= 0 {
		return q.all[i], true
	}
	return Request{}, false
}

func (q *Requests) at(player string) int {
	for i := len(q.all) - 1; i >= 0; i-- {
		if q.all[i].Player == player && q.all[i].Kept.IsZero() {
			return i
		}
	}
	return -1
}

// Ask keeps a request; where one waits already, that is it.
func (q *Requests) Ask(r Request) (Request, error) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if i := q.at(r.Player); i >= 0 && q.all[i].Waits() {
		return q.all[i], nil
	}
	return r, q.write(append(slices.Clone(q.all), r))
}

// Keep takes a request back that was not carried out.
func (q *Requests) Keep(player, by string, now time.Time) (Request, error) {
	return q.change(player, func(r *Request) error {
		if !r.Waits() {
			return fmt.Errorf("%s was erased on %s: it can't be taken back", player, r.Done.UTC().Format(time.RFC3339))
		}
		r.Kept, r.KeptBy = now.UTC().Truncate(time.Second), by
		return nil
	})
}

// Finish says that a request was carried out.
func (q *Requests) Finish(player string, now time.Time) (Request, error) {
	return q.change(player, func(r *Request) error {
		if !r.IsDue(now) {
			return fmt.Errorf("the erasure of %s is not due before %s", player, r.Due.UTC().Format(time.RFC3339))
		}
		r.Done = now.UTC().Truncate(time.Second)
		return nil
	})
}

func (q *Requests) change(player string, do func(*Request) error) (Request, error) {
	q.mu.Lock()
	defer q.mu.Unlock()
	i := q.at(player)
	if i < 0 {
		return Request{}, fmt.Errorf("%w %s", ErrNoRequest, player)
	}
	next := slices.Clone(q.all)
	if err := do(&next[i]); err != nil {
		return q.all[i], err
	}
	return next[i], q.write(next)
}

func (q *Requests) write(next []Request) error {
	text, err := json.MarshalIndent(next, "", "  ")
	if err != nil {
		return fmt.Errorf("erasures: %w", err)
	}
	if err := os.MkdirAll(filepath.Dir(q.file), 0o700); err != nil {
		return fmt.Errorf("erasures: %w", err)
	}
	if err := durable.WriteFile(q.file, append(text, '\n'), 0o600); err != nil {
		return fmt.Errorf("erasures: %w", err)
	}
	q.all = next
	return nil
}
