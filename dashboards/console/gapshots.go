package console

import (
	"context"
	"fmt"

	"fairlead/processors/golf/profile"
	"fairlead/processors/hub/store"
	ask "fairlead/processors/hub/store/question"
)

// ownShots are the shots of a trial's part with a player's own club.
type ownShots struct {
	Trial, Category, Class string
	LengthM                float64        // of carry that was meant in a partial shot, 0: not stated
	LoftDeg                float64        // 0: not known
	Carry, Landing, Spin   profile.Moment // m, deg, rpm
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
