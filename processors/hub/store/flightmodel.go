package store

import (
	"context"
	"fmt"

	"fairlead/processors/golf/flight"
)

// writeFlightNow has the views know by which flight model the program computes.
func (s *Store) writeFlightNow(ctx context.Context) error {
	written := func() bool {
		var model string
		err := s.conn.QueryRow(ctx, "SELECT flight_model FROM flight_now").Scan(&model)
		return err == nil && model == flight.Stamp()
	}
	if written() {
		return nil
	}
	err := s.conn.Exec(ctx, "CREATE OR REPLACE VIEW flight_now\nAS\nSELECT "+Quote(flight.Stamp())+" AS flight_model")
	if err != nil && !written() { // two may begin at once
		return fmt.Errorf("migrate: the flight model's name: %w", plain(err))
	}
	return nil
}

// Outdated counts what another flight model than this program's computed: rows of shots
// and of trials. Until they are computed anew, what it made is taken by nobody.
type Outdated struct{ Shots, Trials uint64 }

// Outdated looks at all of the store; a few columns, read in a moment.
func (s *Store) Outdated(ctx context.Context) (o Outdated, err error) {
	for table, n := range map[string]*uint64{"entries": &o.Shots, "trials": &o.Trials} {
		q := "SELECT count() FROM " + table + " FINAL WHERE flight_model NOT IN ('', {model:String}) AND " + says[table]
		if *n, err = s.count(ctx, q, named{"model": flight.Stamp()}); err != nil {
			return o, fmt.Errorf("rows of another flight model: %w", plain(err))
		}
	}
	return o, nil
}
