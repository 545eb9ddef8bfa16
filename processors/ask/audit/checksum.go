package audit

import (
	"context"
	"fmt"

	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
)

// Checksum is what a table amounts to, without versions and insert times: equal
// for equal contents in any order.
type Checksum struct {
	Table string `json:"table"`
	Rows  uint64 `json:"rows"`
	Sum   uint64 `json:"sum"`
}

// Checksums takes the checksums of the tables that the pipeline writes.
func Checksums(ctx context.Context, s *store.Store) ([]Checksum, error) {
	var out []Checksum
	for _, table := range []string{"entries", "trials", "verdicts", "visit_events"} {
		c := Checksum{Table: table}
		where := ""
		if table == "trials" {
			where = "n + n_excluded + n_set_aside > 0" // an emptied row says the same as none
		}
		// The sum does not depend on the order.
		sum := question.Checksum(table, store.RowHash(table), where)
		if err := s.Conn().QueryRow(ctx, sum).Scan(&c.Rows, &c.Sum); err != nil {
			return nil, fmt.Errorf("checksum of %s: %w", table, err)
		}
		out = append(out, c)
	}
	return out, nil
}
