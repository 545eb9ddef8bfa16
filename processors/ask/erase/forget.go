package erase

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// Person is what the hub's file of people says of an id.
type Person struct {
	Name   string
	Role   string // player, or another: of whom nothing is erased here
	OnFile bool
}

// ErrNobody says that nothing is kept of a player.
var ErrNobody = errors.New("no player")

// RefusedError says that nothing was erased, and why not.
type RefusedError struct{ err error }

func (e *RefusedError) Error() string { return e.err.Error() }
func (e *RefusedError) Unwrap() error { return e.err }

// Forgetting is what an erasure needs beside the Eraser.
type Forgetting struct {
	Keep   Keeping
	Person Person
	DryRun bool
	// Confirm asks whoever is there; nil: nobody is asked.
	Confirm func(r Receipt) error
	// Ask asks for the erasure, by the name on file, and says when it is due: nothing
	// is erased before. nil: at once.
	Ask func(ctx context.Context, player, name string) (due time.Time, err error)
	// EraseName takes the name out of the file of people.
	EraseName func(ctx context.Context, player string) error
}

// Forget erases a player: name first, then the sessions. The receipt is good also
// with an error that came after something was erased; it is nil before that.
func (e *Eraser) Forget(ctx context.Context, player string, f Forgetting) (*Receipt, error) {
	plan, err := e.Plan(ctx, player)
	if err != nil {
		return nil, err
	}
	refused := func(format string, args ...any) (*Receipt, error) {
		return nil, &RefusedError{fmt.Errorf(format, args...)}
	}
	if !plan.Known() && !f.Person.OnFile {
		return refused("%w %s in studio %s: no name, no session and no row is kept under this id; check it on the console's page /people",
			ErrNobody, player, e.Studio)
	}
	if f.Person.OnFile && f.Person.Role != "player" {
		return refused("%s is a %s, not a player: erase the name on the console's page /people", player, f.Person.Role)
	}
	r := &Receipt{Player: player, Studio: e.Studio, At: e.Now().UTC(), DryRun: f.DryRun, Name: "not on file", Sessions: plan.Sessions,
		Removed: plan.Held,
		Guest:   plan.Guest, Remains: Remains(player, plan.Last(e.Now()), e.Now(), f.Keep, plan.Guest, plan.InClear)}
	if plan.Before != nil && !plan.Before.Finished.IsZero() {
		r.Before = &plan.Before.Finished
	}
	if f.Person.OnFile {
		r.Name = "on file"
	}
	if f.DryRun {
		return r, nil
	}
	if err := plan.Open(); err != nil {
		return refused("%w", err)
	}
	if f.Confirm != nil {
		if err := f.Confirm(*r); err != nil {
			return refused("%w", err)
		}
	}
	if f.Ask != nil {
		due, err := f.Ask(ctx, player, f.Person.Name)
		if err != nil {
			return nil, err
		}
		if due.After(e.Now()) {
			r.Due = &due
			return r, nil
		}
	}
	if f.Person.OnFile {
		if err := f.EraseName(ctx, player); err != nil {
			return nil, err
		}
		r.Name = "erased"
	}
	r.Left, err = e.Run(ctx, plan)
	r.Done, r.At = err == nil, e.Now().UTC()
	return r, err
}
