package console

import (
	"context"
	"fmt"

	"fairlead/processors/hub/store"
	ask "fairlead/processors/hub/store/question"
)

// moments are those of one measured quantity: how many shots, their mean, and
// their sum of squares about it.
type moments struct {
	N        uint32
	Mean, SS float64
}

// ownShots are the shots of a trial's part with a player's own club.
type ownShots struct {
	Trial, Category, Class string
	LengthM                float64 // of carry that was meant in a partial shot, 0: not stated
	LoftDeg                float64 // 0: not known
	Carry, Landing, Spin   moments // m, deg, rpm
}

// ownShotsOf reads what a player hit with own clubs since a time, oldest first.
func ownShotsOf(ctx context.Context, s *store.Store, studio, player string, since int64) ([]ownShots, error) {
	rows, err := s.Conn().Query(ctx, ask.OwnShots(), studio, player, since)
	if err != nil {
		return nil, fmt.Errorf("shots with own clubs: %w", err)
	}
	defer rows.Close()
	var out []ownShots
	for rows.Next() {
		var o ownShots
		if err := rows.Scan(&o.Trial, &o.Category, &o.Class, &o.LengthM, &o.LoftDeg, &o.Carry.N, &o.Carry.Mean, &o.Carry.SS, &o.Landing.N,
			&o.Landing.Mean, &o.Landing.SS, &o.Spin.N, &o.Spin.Mean, &o.Spin.SS); err != nil {
			return nil, fmt.Errorf("shots with own clubs: %w", err)
		}
		out = append(out, o)
	}
	return out, rows.Err()
}

// add puts the moments of other shots to these.
func (m moments) add(o moments) moments {
	n := float64(m.N + o.N)
	if o.N == 0 {
		return m
	}
	d := o.Mean - m.Mean
	return moments{m.N + o.N, m.Mean + d*float64(o.N)/n, m.SS + o.SS + d*d*float64(m.N)*float64(o.N)/n}
}
