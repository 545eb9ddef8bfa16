package client

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"fairlead/dashboards/console/people"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/erase"
	"fairlead/processors/hub/store"
)

// Forgetter erases players of a studio by the console's hand: the console writes the
// events that forget, and takes the name out of its file of people.
type Forgetter struct {
	Hand   *Client
	Store  *store.Store
	Studio string
	Places []stream.Place // of the configuration; the store may know more
	Keep   erase.Keeping
	Who    string // who runs the erasure
}

// Forget erases a player; the processors may take wait to write the sessions again.
// The receipt is good also with an error that came after something was erased.
func (g Forgetter) Forget(ctx context.Context, player string, f erase.Forgetting, wait time.Duration) (*erase.Receipt, error) {
	e := &erase.Eraser{Store: g.Store, Studio: g.Studio, Write: g.Hand.WriteIn, Now: time.Now, Wait: wait, Who: g.Who}
	var err error
	if e.Places, err = erase.Places(ctx, g.Store, g.Studio, g.Places); err != nil {
		return nil, err
	}
	f.Keep, f.EraseName = g.Keep, g.Hand.EraseName
	r, err := e.Forget(ctx, player, f)
	if r != nil && r.Done {
		err = errors.Join(err, g.Hand.Erased(ctx, player))
	}
	return r, err
}

// Watch carries out what was asked for on the page once it is due, until ctx ends.
// Of somebody who is no player there is a name to erase and nothing else.
func (g Forgetter) Watch(ctx context.Context, log *slog.Logger) {
	erase.Watch(ctx, log, g.Hand.Erasures, func(ctx context.Context, r erase.Request) error {
		if r.Name && r.Role != string(people.Player) {
			return errors.Join(g.Hand.EraseName(ctx, r.Player), g.Hand.Erased(ctx, r.Player))
		}
		_, err := g.Forget(ctx, r.Player, erase.Forgetting{Person: erase.Person{Role: r.Role, OnFile: r.Name}}, 2*time.Minute)
		if errors.Is(err, erase.ErrNobody) { // a copy that was restored may be older than all that was kept
			return g.Hand.Erased(ctx, r.Player)
		}
		return err
	})
}
