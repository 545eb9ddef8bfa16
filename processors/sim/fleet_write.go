package sim

import (
	"context"
	"fmt"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"fairlead/processors/hub/store"
)

// FleetSummary counts what a fleet is.
type FleetSummary struct {
	Players  int     `json:"players"`
	Sessions int     `json:"sessions"`
	Trials   int     `json:"trials"` // rows: an instruction makes two of one trial
	Shots    int     `json:"shots"`
	Seconds  float64 `json:"seconds"`
	Rate     float64 `json:"shots_per_s"`
}

// FleetTruth is what is true of a fleet, as JSON.
type FleetTruth struct {
	Options    FleetOptions          `json:"options"`
	Attributes []AttributeInfo       `json:"attributes"`
	Traits     []string              `json:"traits"`
	Standard   map[string]Attributes `json:"standard_clubs"` // from which steps are counted, by category
	Scales     map[string]Scale      `json:"trait_scales"`   // by category
	Planted    Planted               `json:"planted"`
	Bays       []bayBias             `json:"bays"`
	Summary    FleetSummary          `json:"summary"`
}

// Truth describes the fleet; summary is what Write returned.
func (f *Fleet) Truth(summary FleetSummary) FleetTruth {
	t := FleetTruth{Options: f.Options, Traits: Traits[:], Standard: map[string]Attributes{}, Scales: map[string]Scale{}, Planted: f.Planted,
		Bays: f.bays, Summary: summary}
	for a := range attributes {
		t.Attributes = append(t.Attributes, a.Info())
	}
	for i, c := range fleetCategories {
		t.Standard[c] = f.builds.of(clubCode{category: int8(i)}, false, false).values
		t.Scales[c] = fleetScales[i]
	}
	return t
}

// StudioRows are the rows of one studio of a fleet: a block a bay, sorted as
// the tables are.
type StudioRows struct {
	Entries, Trials   []store.Block
	Players, Sessions int
	Verdicts          []store.VerdictRow // of a trade
}

// Rows draws a studio's rows, the same ones every time. Studio n holds the
// players from n·PerStudio on; its bays share them.
func (f *Fleet) Rows(studio int) StudioRows {
	var bays [len(fleetBays)]*bayRows
	for i := range bays {
		bays[i] = f.newBayRows(studio, i)
	}
	var out StudioRows
	from := studio * f.Options.PerStudio
	for n := from; n < min(from+f.Options.PerStudio, f.Options.Players); n++ {
		p := f.Player(n)
		if f.Options.Trade.trades() {
			v, sessions := f.trade(bays[p.r.IntN(len(bays))], &p)
			out.Verdicts = append(out.Verdicts, v...)
			out.Players, out.Sessions = out.Players+1, out.Sessions+sessions
			continue
		}
		category := p.r.IntN(len(fleetCategories))
		for s := range 1 + p.r.IntN(2) {
			f.session(bays[p.r.IntN(len(bays))], &p, s+1, (category+s)%len(fleetCategories))
			out.Sessions++
		}
		out.Players++
	}
	for _, b := range bays {
		if b.seq > 0 {
			out.Entries = append(out.Entries, b.entries())
			out.Trials = append(out.Trials, b.trials())
		}
	}
	return out
}

func (r *StudioRows) count() (shots, trials int) {
	for i := range r.Entries {
		shots += r.Entries[i].Rows
		trials += r.Trials[i].Rows
	}
	return shots, trials
}

// inserters is how many studios are stored at a time: one insert keeps about
// one core of the store busy.
const inserters = 2

// Write stores the whole fleet: the next studio is drawn while others are
// stored.
// Memory is bounded by a few studios. The tables must be there. progress, when
// not nil, is called after each studio.
func (f *Fleet) Write(ctx context.Context, to *store.Blocks, progress func(FleetSummary)) (s FleetSummary, err error) {
	start := time.Now()
	g, ctx := errgroup.WithContext(ctx)
	drawn := make(chan StudioRows)
	g.Go(func() error {
		defer close(drawn)
		for n := range f.Studios() {
			rows := f.Rows(n)
			select {
			case drawn <- rows:
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		return nil
	})
	var mu sync.Mutex
	for range inserters {
		g.Go(func() error {
			for rows := range drawn {
				// Trials first: who sees a shot finds its trial.
				if err := to.Insert(ctx, "trials", rows.Trials...); err != nil {
					return err
				}
				if err := to.Insert(ctx, "entries", rows.Entries...); err != nil {
					return err
				}
				shots, trials := rows.count()
				mu.Lock()
				s.Players += rows.Players
				s.Sessions += rows.Sessions
				s.Shots += shots
				s.Trials += trials
				s.Seconds = time.Since(start).Seconds()
				s.Rate = float64(s.Shots) / s.Seconds
				if progress != nil {
					progress(s)
				}
				mu.Unlock()
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return s, fmt.Errorf("fleet: %w", err)
	}
	return s, nil
}
