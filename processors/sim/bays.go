package sim

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"sync"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/flight"
)

// Bay is a hitting bay to simulate.
type Bay struct {
	Name  string
	Feeds []Feed
	// Begins is the category of the first session; empty: as for the others.
	Begins string
	// After is when the first visit begins; nil: at once.
	After <-chan struct{}
}

// Options of RunBays. What is left at zero gets the value named.
type Options struct {
	Studio string
	Bays   []Bay
	Hand   Hand
	Seed   uint64
	For    time.Duration // how long; 0: until Shots or the context ends
	Shots  int           // at most so many hits in each bay; 0: no end
	Visits int           // at most so many visits in each bay; 0: no end
	Rate   float64       // hits a second in each bay: 0.5
	// Category that all sessions are about; empty: mixed, as the devices allow.
	Category string
	// Quiet is the least time between a hit and what the fitter enters beside
	// it: 250 ms, since nobody swaps a club faster.
	Quiet time.Duration
	// Forget is how often a club swap is not entered: 0.1; below 0: never.
	Forget float64
	// Grace is how long events may still take to reach the console after the
	// end: 15 s.
	Grace time.Duration
	// Guest is who comes to a visit of a bay, both counted (bays from 0, visits from
	// 1): of age, and consenting; nil: somebody new, or who hits a delivered club.
	Guest func(bay, visit int) *Player
	// Meet hears of people before anything is entered of them; nil: nobody asks.
	Meet func(ctx context.Context, p *Player, fitter bool)
	// Keep gets each line's entry as a collector keeps it; nil: collectors read files.
	Keep  func(e *event.Entry) error
	Truth io.Writer // NDJSON of everything that is true; nil: not kept
	// Clock gives each bay its time; nil: the wall clock, all bays at once.
	// With clocks given, the bays run one after the other, so that the same
	// seed writes the same bytes.
	Clock func(bay string) Clock
	Log   *slog.Logger // nil: silent
}

func (o *Options) fill() error {
	if o.Hand == nil {
		return errors.New("simulate bays: there is no hand to enter what the fitter does: give a console")
	}
	if len(o.Bays) == 0 {
		return errors.New("simulate bays: no bay has a feed that a simulated device can write to")
	}
	if err := event.CheckName("studio", o.Studio); err != nil {
		return err
	}
	if o.Rate == 0 {
		o.Rate = 0.5
	}
	if !(o.Rate > 0 && o.Rate <= 1e5) {
		return fmt.Errorf("simulate bays: %g hits a second: give more than 0 and at most 100000", o.Rate)
	}
	if o.For <= 0 && o.Shots <= 0 && o.Visits <= 0 && o.Clock != nil {
		return errors.New("simulate bays: on a virtual clock it must have an end: give For, Shots or Visits")
	}
	if o.Quiet == 0 {
		o.Quiet = 250 * time.Millisecond
	}
	if o.Forget == 0 {
		o.Forget = 0.1
	}
	if o.Grace == 0 {
		o.Grace = 15 * time.Second
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	return nil
}

// PlayerOf is who comes to a visit of a bay, both counted as in Guest, where no
// Guest says so.
func PlayerOf(seed uint64, bay, visit int) *Player { return NewPlayer(seed, bay*1000+visit) }

// RunBays simulates bays until their end or until ctx ends, which is no error:
// open sessions are closed, and events on their way get Grace to arrive. The
// summary is good in any case.
func RunBays(ctx context.Context, o Options) (Summary, error) {
	if err := o.fill(); err != nil {
		return Summary{}, err
	}
	truth := &truthLog{w: o.Truth}
	var total Summary
	var failed []error
	if o.Clock != nil {
		for i := range o.Bays {
			s, err := runBay(ctx, &o, i, o.Clock(o.Bays[i].Name), truth)
			total.add(s)
			failed = append(failed, err)
		}
	} else {
		var mu sync.Mutex
		var wg sync.WaitGroup
		for i := range o.Bays {
			wg.Go(func() {
				s, err := runBay(ctx, &o, i, WallClock{}, truth)
				mu.Lock()
				defer mu.Unlock()
				total.add(s)
				failed = append(failed, err)
			})
		}
		wg.Wait()
	}
	failed = append(failed, truth.failed())
	truth.write(struct {
		Record  string  `json:"record"`
		Summary Summary `json:"summary"`
	}{"summary", total})
	return total, errors.Join(failed...)
}

func runBay(ctx context.Context, o *Options, number int, clock Clock, truth *truthLog) (s Summary, err error) {
	start := clock.Now()
	place := o.Bays[number]
	air, err := flight.AirAt(20, 101325, 0.45) // indoors
	if err != nil {
		return s, fmt.Errorf("bay %s: %w", place.Name, err)
	}
	conditions := flight.Standard()
	conditions.Air = air
	b := &bay{
		o: o, name: place.Name, begins: place.Begins, number: number, clock: clock, truth: truth, start: start, air: conditions,
		r: source(o.Seed, "bay", place.Name), ids: source(o.Seed, "ids", place.Name, start.String()),
		interval: time.Duration(float64(time.Second) / o.Rate),
	}
	defer func() {
		for _, f := range b.feeds {
			err = errors.Join(err, f.file.Close())
		}
	}()
	for _, f := range place.Feeds {
		file, err := openFeed(f, o.Seed, place.Name, start)
		if err != nil {
			return s, fmt.Errorf("bay %s: %w", place.Name, err)
		}
		b.feeds = append(b.feeds, file)
	}
	b.fitter = newFitter(o.Seed, number)
	b.out = newOutbox(ctx, o, b.name, clock)
	b.truth.write(playerRecord(b.fitter))
	b.meet(ctx, b.fitter, true)
	if place.After != nil {
		select {
		case <-place.After:
		case <-ctx.Done():
		}
	}
	for err == nil && !b.over(ctx) && (o.Visits == 0 || b.visits < o.Visits) {
		err = b.visit(ctx)
	}
	kept, refused, late := b.out.close()
	b.s.Bays, b.s.Events, b.s.Refused = 1, kept, refused
	return b.s, errors.Join(err, late)
}
