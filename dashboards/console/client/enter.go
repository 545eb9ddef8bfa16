package client

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"fairlead/dashboards/console"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// Enter reads what was given for an act into the event, by the reader that the
// page's forms have. An EntryError says what was entered wrongly.
func (v *Client) Enter(ctx context.Context, a visit.Act, in visit.Input, ev *event.VisitEvent) error {
	place, err := v.place(ctx)
	if err != nil {
		return err
	}
	if a.Name == "order" || a.Name == "trial" || a.Name == "stock" || a.Name == "testclub" { // what may name parts and test clubs
		if shelf, err := v.Stock(ctx); err == nil {
			place.Shelf = shelf.Shelf
		}
	}
	if a.Name == "draw" && len(in["next"]) > 0 {
		state, _, err := v.State(ctx)
		if err != nil {
			return err
		}
		place.Next = state.Lots
	}
	var shots string
	for _, field := range a.Fields {
		if field.Shots {
			shots = field.Name
		}
	}
	if named := in[shots]; len(named) > 0 {
		// Numbers of shots are looked up last: what else is wrong is said first.
		in[shots] = []string{event.ShotID{}.String()}
		if _, faults := visit.Read(a.Name, in, place); len(faults) > 0 {
			return &EntryError{faultsError(faults)}
		}
		if in[shots], err = v.shotIDs(ctx, named); err != nil {
			return &EntryError{err}
		}
	}
	read, faults := visit.Read(a.Name, in, place)
	if len(faults) > 0 {
		return &EntryError{faultsError(faults)}
	}
	if read.Visit != "" {
		ev.Visit = read.Visit
	}
	ev.Body = read.Body
	if ev.Session == "" {
		ev.Session = read.Session // an order's, whatever is open in the bay now
	}
	if g := ev.GetVerdictGiven(); g != nil && g.Trial != "" {
		state, _, err := v.State(ctx)
		if err != nil {
			return err
		}
		console.Promise(state, g)
	}
	return nil
}

// faultsError says all that is wrong with what was entered.
func faultsError(faults []*event.Fault) error {
	var lines []string
	for _, f := range faults {
		line := strings.ReplaceAll(f.Field, "_", " ")
		if f.Value != "" {
			line += fmt.Sprintf(" %q", f.Value)
		}
		line += ": " + f.Reason
		if f.Hint != "" {
			line += ": " + f.Hint
		}
		lines = append(lines, line)
	}
	return errors.New(strings.Join(lines, "; "))
}

// place folds the bay's events as the console does.
func (v *Client) place(ctx context.Context) (*visit.Place, error) {
	events, _, err := v.Events(ctx)
	if err != nil {
		return nil, err
	}
	log := &visit.Log{}
	for _, ev := range events {
		log.Add(ev)
	}
	return &visit.Place{Bay: v.Bay, Timeline: log.Timeline(), Live: log.Events(), Event: log.Event, Now: time.Now().UnixNano(),
		Lot: rand.IntN}, nil
}
