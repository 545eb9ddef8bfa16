package store

import (
	"context"
	"fmt"

	"fairlead/ingest/contract/event"
)

// JoinEvents reads, by studio, what says which players agreed to be told of as one with
// players of other studios: of the bays where somebody did, what opens, corrects,
// erases and takes back. Of an event that was erased what is left is read.
func (s *Store) JoinEvents(ctx context.Context) (map[string][]*event.VisitEvent, error) {
	const question = `SELECT event FROM visit_events WHERE (studio, bay) IN (SELECT studio, bay FROM visit_events WHERE kind = 'player_joined')
		AND kind IN ('player_joined', 'session_opened', 'session_closed', 'session_corrected', 'session_erased', 'turn_taken', 'voided')
		ORDER BY studio, bay, id, JSONExtractBool(body, 'erased') DESC LIMIT 1 BY studio, bay, id`
	rows, err := s.conn.Query(ctx, question)
	if err != nil {
		return nil, fmt.Errorf("whose visits are told of as one player's: %w", plain(err))
	}
	defer rows.Close()
	all, err := s.scanEvents(rows)
	if err != nil {
		return nil, fmt.Errorf("whose visits are told of as one player's: %w", err)
	}
	out := map[string][]*event.VisitEvent{}
	for _, ev := range all {
		out[ev.Studio] = append(out[ev.Studio], ev)
	}
	return out, nil
}
