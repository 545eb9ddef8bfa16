package demo

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/vault"
	"fairlead/processors/hub/process"
	"fairlead/processors/sim"
	"fairlead/processors/visit"
)

const (
	// lastYearBay is where the first player of the demo was a year ago, and is again.
	lastYearBay = 0
	// lastYearSeed makes of the demo's seed the first one of that day's swings, and
	// lastYearTries is how many days are looked at for one that ended with a build.
	lastYearSeed, lastYearTries = 1009, 12
	aYear                       = 364 * 24 * time.Hour // the same day of the week
)

// lastYear writes into the journals of a studio that is new what the first bay and
// the console kept a year ago: the visit of a player who comes back today, and what
// the studio did about it and of late (shop.go). They go
// the way of everything that journals hold when the studio starts; what is a year old
// is when they happened, not when they were written down.
func (d *Demo) lastYear(ctx context.Context) (err error) {
	files, err := os.MkdirTemp(d.Dir, "last-year-*")
	if err != nil {
		return fmt.Errorf("last year's visit: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(files)) }()
	bay := sim.DemoBays(files)[lastYearBay]
	var entries [][]byte
	var hand *sim.MemoryHand
	for try := range uint64(lastYearTries) {
		entries, hand = nil, &sim.MemoryHand{}
		clock := &sim.VirtualClock{At: time.Now().Add(-aYear)}
		_, err = sim.RunBays(ctx, sim.Options{
			Studio: d.config.Studio, Bays: []sim.Bay{bay}, Hand: hand, Seed: d.Seed + lastYearSeed + try, Visits: 1, Rate: 0.1,
			Guest: func(number, visit int) *sim.Player { return sim.PlayerOf(d.Seed, lastYearBay+number, visit) },
			Clock: func(string) sim.Clock { return clock }, Log: d.log,
			Meet: func(_ context.Context, p *sim.Player, fitter bool) { d.met[fitter] = p },
			Keep: func(e *event.Entry) error {
				payload, err := proto.MarshalOptions{Deterministic: true}.Marshal(e)
				entries = append(entries, payload)
				return err
			},
		})
		if err != nil {
			return fmt.Errorf("last year's visit: %w", err)
		}
		if slices.ContainsFunc(hand.Events(), func(ev *event.VisitEvent) bool {
			return ev.GetVerdictGiven().GetKind() == event.VerdictKind_VERDICT_BUILD
		}) {
			break // a day that ended with a build for the shop
		}
	}
	keys, err := vault.Open(vault.Beside(d.config.PeopleFile()))
	if err != nil {
		return fmt.Errorf("last year's visit: %w", err)
	}
	var events [][]byte
	whose := map[string]vault.Owner{} // by session
	said := hand.Events()
	for _, ev := range append(said, d.shop(said, time.Now())...) {
		if faults := visit.Validate(ev, time.Now()); len(faults) > 0 {
			return fmt.Errorf("last year's visit: %s %s: %v", event.KindOf(ev), ev.Id, faults[0])
		}
		ev.Seq = 0 // it stands in the journal's record
		if o := ev.GetSessionOpened(); o != nil {
			whose[ev.Session] = vault.Owner{Player: o.Player, Session: ev.Session}
		}
		if err := seal(ev, keys, whose[ev.Session]); err != nil {
			return fmt.Errorf("last year's visit: %w", err)
		}
		payload, err := proto.MarshalOptions{Deterministic: true}.Marshal(ev)
		if err != nil {
			return fmt.Errorf("last year's visit: %w", err)
		}
		events = append(events, payload)
	}
	return errors.Join(
		d.journalled(ctx, journal.Options{Dir: d.config.JournalDir(bay.Name), Bay: bay.Name}, entries),
		d.journalled(ctx, journal.Options{Dir: d.config.ConsoleJournalDir(), Bay: process.ConsoleBay}, events))
}

// seal seals what people wrote, as the console does before an event is kept.
func seal(ev *event.VisitEvent, keys *vault.Ring, whose vault.Owner) (failed error) {
	event.Texts(ev, func(text string) string {
		box, err := keys.Seal(whose, text)
		failed = errors.Join(failed, err)
		return box
	})
	return failed
}

// journalled appends payloads to a journal.
func (d *Demo) journalled(ctx context.Context, o journal.Options, payloads [][]byte) (err error) {
	if err := os.MkdirAll(filepath.Dir(o.Dir), 0o700); err != nil {
		return fmt.Errorf("last year's visit: %w", err)
	}
	o.Studio, o.Logger = d.config.Studio, d.log
	j, _, err := journal.Open(o)
	if err != nil {
		return fmt.Errorf("last year's visit: %w", err)
	}
	defer func() { err = errors.Join(err, j.Close()) }()
	records := make([]journal.Record, len(payloads))
	for i, p := range payloads {
		records[i].Payload = p
	}
	if _, err := j.Append(ctx, records...); err != nil {
		return fmt.Errorf("last year's visit: %w", err)
	}
	return nil
}
