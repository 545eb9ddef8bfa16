// Package erase honours a player who asks to be forgotten. What it does and what
// it leaves is in DESIGN.md.
//
// An Eraser finds the player's sessions, has an erasure of each written to the
// log of visits (through Write: the console is the only writer of events), waits
// until the processors have written every row of them again without what was
// measured and said, and scrubs old versions of those rows, the copies in
// snapshots of the fleet, and rows that no visit event explains. Each step may be
// repeated: whoever was killed half-way runs it again.
package erase

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
)

// Session is one session of the player's in one bay.
type Session struct {
	Bay      string    `json:"bay"`
	Session  string    `json:"session"`
	Visit    string    `json:"visit"`
	Category string    `json:"category"`
	From     time.Time `json:"from"`
	To       time.Time `json:"to"`
	Erased   bool      `json:"erased"` // an erasure of it stands in the log
	Open     bool      `json:"open"`   // and so nothing can be erased yet
}

// Plan is what there is to erase.
type Plan struct {
	Player   string
	Sessions []Session
	Held     store.Held // rows, also where no session is known
	Guest    uint64     // shots hit in sessions of others; they stay
	InClear  int        // texts of the sessions that were entered before texts were sealed
	Before   *store.Erasure
}

// OpenError says that the player is in a bay at this moment.
type OpenError struct{ Player, Bay, Session string }

func (e *OpenError) Error() string {
	return fmt.Sprintf("session %s of player %s is open in bay %s: close it first (`fairlead visit close --bay %s`)", e.Session, e.Player,
		e.Bay, e.Bay)
}

// LateError says that the processors have not written everything again in time.
type LateError struct {
	Sessions []string
	Waited   time.Duration
}

func (e *LateError) Error() string {
	return fmt.Sprintf("after %s rows of %d sessions still wait to be written again (%s …): the erasure stands in the log and will be "+
		"honoured; see that `fairlead process` runs, then run this again", e.Waited, len(e.Sessions), e.Sessions[0])
}

// Eraser has in hand what an erasure needs.
type Eraser struct {
	Store  *store.Store
	Studio string
	Places []stream.Place
	// Write has an event written to the log of a bay, once for each id.
	Write func(ctx context.Context, bay string, ev *event.VisitEvent) error
	Now   func() time.Time
	// Wait is how long the processors may take.
	Wait time.Duration
	Who  string
}

// Plan finds what there is of a player. It changes nothing.
func (e *Eraser) Plan(ctx context.Context, player string) (*Plan, error) {
	p := &Plan{Player: player, Sessions: []Session{}}
	for _, place := range e.Places {
		events, err := e.Store.Events(ctx, place)
		if err != nil {
			return nil, err
		}
		log := &visit.Log{}
		erased := map[string]string{}
		for _, ev := range events {
			log.Add(ev)
			if x := ev.GetSessionErased(); x != nil {
				erased[ev.Session] = x.Player
			}
		}
		own := map[string]bool{}
		for _, s := range log.Timeline().Sessions {
			if s.Player != player && erased[s.ID] != player {
				continue
			}
			own[s.ID] = true
			p.Sessions = append(p.Sessions, Session{
				Bay: place.Bay, Session: s.ID, Visit: s.Visit, Category: s.Category,
				From: unix(s.From), To: unix(s.To), Erased: s.Erased, Open: s.Open(),
			})
		}
		p.InClear += inClear(events, own)
	}
	var err error
	if p.Held, err = e.Store.Spoken(ctx, e.Studio, player, p.ids()); err != nil {
		return nil, err
	}
	if p.Guest, err = e.Store.HitAsGuest(ctx, e.Studio, player); err != nil {
		return nil, err
	}
	before, err := e.Store.Erasures(ctx, e.Studio)
	if err != nil {
		return nil, err
	}
	if b, ok := before[player]; ok {
		p.Before = &b
	}
	return p, nil
}

func inClear(events []*event.VisitEvent, sessions map[string]bool) (n int) {
	for _, ev := range events {
		if sessions[ev.Session] {
			n += event.InClear(ev)
		}
	}
	return n
}

func unix(ns int64) time.Time {
	if ns == visit.Never {
		return time.Time{}
	}
	return time.Unix(0, ns).UTC()
}

// ids are the sessions' ids, each once: a session that was moved stands in two bays.
func (p *Plan) ids() []string {
	out := []string{}
	for _, s := range p.Sessions {
		if !slices.Contains(out, s.Session) {
			out = append(out, s.Session)
		}
	}
	return out
}

// Known says whether anything was ever heard of the player.
func (p *Plan) Known() bool {
	return len(p.Sessions) > 0 || p.Held.Sum() > 0 || p.Guest > 0 || p.Before != nil
}

// Last is when the player's last session ended, now where one is open; zero: no
// session is known.
func (p *Plan) Last(now time.Time) (at time.Time) {
	for _, s := range p.Sessions {
		to := s.To
		if s.Open {
			to = now
		}
		if to.After(at) {
			at = to
		}
	}
	return at
}

// Open returns an *OpenError where a session of the player's is open.
func (p *Plan) Open() error {
	for _, s := range p.Sessions {
		if s.Open {
			return &OpenError{p.Player, s.Bay, s.Session}
		}
	}
	return nil
}

// Run carries a plan out and returns what is left, which is nothing unless
// somebody writes at this moment. *OpenError: nothing was done. *LateError: the
// processors are behind; run it again.
func (e *Eraser) Run(ctx context.Context, p *Plan) (left store.Held, err error) {
	if err := p.Open(); err != nil {
		return p.Held, err
	}
	record := store.Erasure{Studio: e.Studio, Player: p.Player, Asked: e.Now(), Who: e.Who, Sessions: p.ids(), Entries: p.Held.Entries}
	if p.Before != nil { // the first request counts, and what was erased in all
		record.Asked, record.Entries = p.Before.Asked, record.Entries+p.Before.Entries
		if !p.Before.Finished.IsZero() && p.Held.Sum() == 0 {
			return p.Held, nil
		}
		if p.Before.Finished.IsZero() {
			record.Entries = max(p.Before.Entries, p.Held.Entries)
		}
	}
	if err := e.Store.RecordErasure(ctx, record); err != nil {
		return p.Held, err
	}
	for _, s := range p.Sessions {
		if s.Erased {
			continue
		}
		// The id follows from the session: said twice, it is one fact.
		ev := &event.VisitEvent{Id: "erase-" + tail(s.Session), Visit: s.Visit, Session: s.Session,
			Body: &event.VisitEvent_SessionErased{SessionErased: &event.SessionErased{Player: p.Player}}}
		if err := e.Write(ctx, s.Bay, ev); err != nil {
			return p.Held, fmt.Errorf("erase session %s of bay %s: %w", s.Session, s.Bay, err)
		}
	}
	if err := e.settled(ctx, p); err != nil {
		return p.Held, err
	}
	if err := e.Store.Scrub(ctx, e.Studio, p.Player, p.ids()); err != nil {
		return p.Held, err
	}
	if left, err = e.Store.Spoken(ctx, e.Studio, p.Player, p.ids()); err != nil {
		return left, err
	}
	if left.Sum() > 0 {
		return left, errors.New("rows came back while they were being erased: run this again")
	}
	record.Finished = e.Now()
	return left, e.Store.RecordErasure(ctx, record)
}

// tail keeps an id within the length that ids may have.
func tail(id string) string {
	const most = 64 - len("erase-")
	return id[max(0, len(id)-most):]
}

// settled waits until the store shows nothing of the sessions any more.
func (e *Eraser) settled(ctx context.Context, p *Plan) error {
	if len(p.Sessions) == 0 {
		return nil
	}
	deadline := time.NewTimer(e.Wait)
	defer deadline.Stop()
	for {
		var waits []string
		for _, place := range e.Places {
			here := map[string]bool{}
			for _, s := range p.Sessions {
				if s.Bay == place.Bay {
					here[s.Session] = true
				}
			}
			if len(here) == 0 {
				continue
			}
			some, err := e.waiting(ctx, place, here)
			if err != nil {
				return err
			}
			waits = append(waits, some...)
		}
		if len(waits) == 0 {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-deadline.C:
			return &LateError{waits, e.Wait}
		case <-time.After(100 * time.Millisecond):
		}
	}
}

// waiting lists those of a bay's sessions whose erasure the store does not know
// yet, or whose rows it still shows.
func (e *Eraser) waiting(ctx context.Context, place stream.Place, sessions map[string]bool) ([]string, error) {
	known, err := e.Store.ErasedSessions(ctx, place)
	if err != nil {
		return nil, err
	}
	shown, err := e.Store.Unerased(ctx, place)
	if err != nil {
		return nil, err
	}
	var out []string
	for id := range sessions {
		if !slices.Contains(known, id) || slices.Contains(shown, id) {
			out = append(out, id)
		}
	}
	return out, nil
}
