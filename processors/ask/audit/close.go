package audit

import (
	"context"
	"fmt"
	"math"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

// UnknownJournalError says that nothing of a journal is stored for a bay.
type UnknownJournalError struct{ Journal, Bay string }

func (e *UnknownJournalError) Error() string {
	return fmt.Sprintf("nothing of journal %s is stored for bay %s: check the id, or say --below", e.Journal, e.Bay)
}

// WrongUse marks what another command line mends.
func (*UnknownJournalError) WrongUse() {}

// Close gives up waiting for a journal whose disk is gone for good, below the
// floor's seq, or for all of it where that is 0.
func Close(ctx context.Context, s *store.Store, place stream.Place, f store.Floor) error {
	stored, err := s.Journals(ctx, place)
	if err != nil {
		return err
	}
	if _, ok := stored[f.Journal]; !ok && f.Below == 0 {
		return &UnknownJournalError{f.Journal, place.Bay}
	}
	if f.Below == 0 {
		f.Below = math.MaxInt64
	}
	return s.CloseJournal(ctx, place, f)
}
