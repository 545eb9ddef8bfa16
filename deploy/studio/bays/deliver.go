package bays

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"fairlead/ingest/bay/desk"
)

const (
	// bringEvery is how often a bay is brought what it has not got, and askEvery how
	// often one that has it is asked whether it still does.
	bringEvery = 2 * time.Second
	askEvery   = 30 * time.Second
)

// Deliver brings every bay the latest version of its configuration until ctx
// ends, and keeps what they say of it. Bays that are away get it when they come.
func (k Kept) Deliver(ctx context.Context, to desk.Client, log *slog.Logger) {
	asked := map[string]time.Time{}
	tick := time.NewTicker(bringEvery)
	defer tick.Stop()
	for {
		var asking sync.WaitGroup
		for _, bay := range k.Bays() {
			v, err := k.Version(bay, 0)
			if err != nil {
				log.Error("a bay's configuration can't be read", "bay", bay, "error", err)
				continue
			}
			t, _ := k.Told(bay)
			has := t.Given.Version == v.Version || t.Refused == v.Version
			if v.Version == 0 || has && len(t.Trial) == 0 && k.Now().Sub(asked[bay]) < askEvery {
				continue
			}
			asked[bay] = k.Now()
			asking.Go(func() { k.bring(ctx, to, bay, v, log) })
		}
		asking.Wait()
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// bring gives a bay a version and keeps its answer.
func (k Kept) bring(ctx context.Context, to desk.Client, bay string, v Version, log *slog.Logger) {
	was, _ := k.Told(bay)
	h, err := to.Take(ctx, bay, v.Given)
	now := was
	var refused *desk.Refused
	switch {
	case errors.As(err, &refused):
		now.Away = refused.Why
	case err != nil:
		now.Away = desk.ErrAway.Error()
	default:
		now = Told{Held: h, At: k.Now().UTC().Truncate(time.Second)}
		k.adopt(bay, v, h, log)
		if h.Refused == v.Version && was.Refused != v.Version {
			log.Error("a bay does not go by its configuration", "bay", bay, "version", v.Version, "in force", h.Given.Version, "why", h.Why)
		} else if h.Given.Version == v.Version && was.Given.Version != v.Version {
			log.Info("a bay goes by its new configuration", "bay", bay, "version", v.Version)
		}
	}
	if now.Away == was.Away && now.Given.Version == was.Given.Version && now.Refused == was.Refused && now.Why == was.Why &&
		len(now.Trial) == len(was.Trial) && !was.At.IsZero() {
		return
	}
	if err := k.Note(bay, now); err != nil {
		log.Warn("what a bay said of its configuration was not kept", "bay", bay, "error", err)
	}
}

// adopt takes over what was changed on the bay itself, from the page of devices.
func (k Kept) adopt(bay string, v Version, h desk.Held, log *slog.Logger) {
	if h.Given.Version != v.Version || h.Given.Same(v.Given) {
		return
	}
	if _, err := k.Put(bay, h.Given, v.Version, "bay", "a map was replaced from the page of devices"); err != nil {
		log.Error("what was changed on a bay can't be taken over", "bay", bay, "error", err)
	}
}
