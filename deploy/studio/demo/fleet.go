package demo

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"fairlead/deploy/studio"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/ask/answers"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
	"fairlead/processors/sim"
)

// demoFleet are players of other studios, so that the fleet has something to say
// in the demo's first minute: four bays would need months. Their studios are none
// of the demo's, so that its own audit and health know nothing of them.
// They hit clubs of a catalogue over a year, with balls, putters, verdicts and hit checks:
// what a group asks of its trade has answers too.
var demoFleet = sim.FleetOptions{Players: 600, Seed: 7, Left: 0.1, Shots: 10, PerStudio: 200, Order: true, Beside: true,
	Trade: sim.TradeOptions{Years: 1, Stock: 112, Balls: true, Verdicts: true, Checks: 0.5, Strikes: true, Putters: 0.3}}

// fleetBegan is the fleet's first day: players come for a year, and for some months
// after it they come back and clubs are hit again, the last time some weeks ago.
func fleetBegan(now time.Time) int64 { return now.AddDate(-1, -9, 0).UnixNano() }

// fleetWorth is how long a demo must run for a fleet to be worth its while.
const fleetWorth = 2 * time.Minute

// fleetWait is how long the player who comes back waits for the fleet at most.
const fleetWait = time.Minute

// fleetIsThere fills the fleet beside the demo; what it returns is closed once the
// fleet has answered, so that its word is older than the visit it is for.
func (d *Demo) fleetIsThere(ctx context.Context) <-chan struct{} {
	there := make(chan struct{})
	filled := make(chan struct{})
	go func() {
		defer close(filled)
		fillFleet(ctx, d.config, d.log)
	}()
	go func() {
		defer close(there)
		select {
		case <-filled:
		case <-time.After(fleetWait):
		case <-ctx.Done():
		}
	}()
	return there
}

// fillFleet puts the demo's fleet into the store, once, and asks what its pages show
// first. The demo goes on without it: what fails is logged.
func fillFleet(ctx context.Context, config *studio.Config, log *slog.Logger) {
	if err := makeFleet(ctx, config, log); err != nil && ctx.Err() == nil {
		log.Warn("the demo's fleet has no players yet; its pages say so", "error", err)
	}
}

func makeFleet(ctx context.Context, config *studio.Config, log *slog.Logger) error {
	s, err := answeringStore(ctx, config)
	if err != nil {
		return err
	}
	defer s.Close()
	if err := s.Migrate(ctx); err != nil {
		return err
	}
	var there uint64
	if err := s.Conn().QueryRow(ctx, question.OtherStudios(), config.Studio).Scan(&there); err != nil {
		return fmt.Errorf("trials of other studios: %w", err)
	}
	if there == 0 {
		of := demoFleet
		of.Start = fleetBegan(time.Now())
		made, err := sim.NewFleet(of)
		if err != nil {
			return err
		}
		dsn, err := config.StoreDSN()
		if err != nil {
			return err
		}
		if _, err := made.Fill(ctx, dsn, false, nil); err != nil {
			return err
		}
	}
	f := answers.New(s, answers.Options{Logger: log})
	for _, c := range []glossary.Category{glossary.Driver, glossary.Iron} {
		for _, o := range answers.OutcomesOf(string(c)) {
			if _, err := f.Ask(ctx, answers.Question{Outcome: o, Filter: answers.Filter{Category: string(c)}}, answers.Asking{}); err != nil {
				return err
			}
		}
	}
	return nil
}

// answeringStore opens the store once the engine answers.
func answeringStore(ctx context.Context, config *studio.Config) (*store.Store, error) {
	for {
		s, err := config.OpenStore()
		if err == nil {
			if err = s.Ping(ctx); err == nil {
				return s, nil
			}
			s.Close()
		}
		select {
		case <-ctx.Done():
			return nil, errors.Join(ctx.Err(), err)
		case <-time.After(200 * time.Millisecond):
		}
	}
}
