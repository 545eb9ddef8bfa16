package erase

import (
	"context"
	"slices"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

// Places are the configured bays of a studio, and those that are no longer
// configured and have their past in the store all the same.
func Places(ctx context.Context, s *store.Store, studio string, configured []stream.Place) ([]stream.Place, error) {
	out := slices.Clone(configured)
	stored, err := s.Places(ctx)
	if err != nil {
		return nil, err
	}
	for _, place := range stored {
		if place.Studio == studio && !slices.Contains(out, place) {
			out = append(out, place)
		}
	}
	return out, nil
}
