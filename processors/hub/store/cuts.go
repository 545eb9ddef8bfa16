package store

import (
	"context"
	"fmt"

	"fairlead/ingest/log/stream"
)

// TimeCuts are effective times, Unix ns in order, that cut a bay's rows into
// pieces of about n.
func (s *Store) TimeCuts(ctx context.Context, place stream.Place, n int) (cuts []int64, err error) {
	const question = `SELECT max(t) FROM (
		SELECT toUnixTimestamp64Nano(effective) AS t, intDiv(row_number() OVER (ORDER BY effective), ?) AS piece
		FROM entries WHERE studio = ? AND bay = ?) GROUP BY piece ORDER BY piece`
	rows, err := s.conn.Query(ctx, question, n, place.Studio, place.Bay)
	if err != nil {
		return nil, fmt.Errorf("times of %s: %w", place, err)
	}
	defer rows.Close()
	for rows.Next() {
		var at int64
		if err := rows.Scan(&at); err != nil {
			return nil, fmt.Errorf("times of %s: %w", place, err)
		}
		cuts = append(cuts, at)
	}
	return cuts, rows.Err()
}
