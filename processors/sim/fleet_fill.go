package sim

import (
	"context"
	"errors"

	"fairlead/processors/hub/store"
)

// AddressError is an address of a store that can't be used.
type AddressError struct{ err error }

func (e *AddressError) Error() string { return e.err.Error() }
func (e *AddressError) Unwrap() error { return e.err }

// WrongUse marks what another command line mends.
func (*AddressError) WrongUse() {}

// Fill writes the fleet into the store at an address, whose tables are made first
// with migrate. said, which may be nil, hears how far it is.
func (f *Fleet) Fill(ctx context.Context, dsn string, migrate bool, said func(FleetSummary)) (summary FleetSummary, err error) {
	if migrate {
		s, err := store.Open(dsn)
		if err != nil {
			return summary, &AddressError{err}
		}
		if err := errors.Join(s.Migrate(ctx), s.Close()); err != nil {
			return summary, err
		}
	}
	to, err := store.OpenBlocks(dsn)
	if err != nil {
		return summary, &AddressError{err}
	}
	summary, err = f.Write(ctx, to, said)
	if err = errors.Join(err, to.Close()); err != nil || !f.Options.Trade.Verdicts {
		return summary, err
	}
	s, err := store.Open(dsn)
	if err != nil {
		return summary, &AddressError{err}
	}
	return summary, errors.Join(f.WriteVerdicts(ctx, s), s.Close())
}

// WriteVerdicts stores the verdicts of a fleet that trades, drawing its studios
// once more: they come out the same.
func (f *Fleet) WriteVerdicts(ctx context.Context, to *store.Store) error {
	for n := range f.Studios() {
		rows := f.Rows(n)
		if err := to.InsertVerdicts(ctx, rows.Verdicts); err != nil {
			return err
		}
	}
	return nil
}
