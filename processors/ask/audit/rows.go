package audit

import (
	"context"
	"log/slog"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/sink"
	"fairlead/processors/hub/store"
)

// looks bounds how often what differs is looked at again: a row that changes
// meanwhile is on its way, and not wrong.
const looks = 4

// lookAgain is how long a row that is being written may take.
const lookAgain = 2 * time.Second

// Rows computes every row of an entry, a trial or a verdict of a bay anew from the
// entries and events stored, and lists those that say something else, hold
// something else or are not there, and those that should not be. What differs is
// looked at again after a while. mend makes right what stayed wrong.
func Rows(ctx context.Context, s *store.Store, place stream.Place, mend bool, again time.Duration) (wrong []store.Differing, err error) {
	var before map[string]uint64
	for look := range looks {
		looked, err := s.Now(ctx)
		if err != nil {
			return nil, err
		}
		scratch, err := s.NewScratch(ctx, strings.ToLower(event.NewID(time.Now())))
		if err != nil {
			return nil, err
		}
		found, err := differing(ctx, s, scratch, place)
		now := map[string]uint64{}
		wrong = wrong[:0]
		moving := false
		for _, d := range found {
			k := d.Table + " " + d.Key
			now[k] = d.Seen
			if seen, twice := before[k]; twice && seen == d.Seen {
				wrong = append(wrong, d)
			} else {
				moving = true
			}
		}
		last := !moving || look == looks-1
		if err == nil && last && mend && len(wrong) > 0 {
			err = scratch.Mend(ctx, place.Studio, place.Bay, wrong, looked)
		}
		scratch.Close(context.WithoutCancel(ctx))
		if err != nil || last {
			return wrong, err
		}
		before = now
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(again):
		}
	}
	return wrong, nil
}

func differing(ctx context.Context, s *store.Store, scratch *store.Scratch, place stream.Place) ([]store.Differing, error) {
	err := sink.Recompute(ctx, s, place, slog.New(slog.DiscardHandler), func(r sink.Rows) error {
		return scratch.Insert(ctx, r.Entries, r.Trials, r.Verdicts)
	})
	if err != nil {
		return nil, err
	}
	return scratch.Compare(ctx, place.Studio, place.Bay)
}

// steadily gives what check finds twice in the same words: what is said once only was on its way.
func steadily(ctx context.Context, again time.Duration, check func() ([]string, error)) ([]string, error) {
	found, err := check()
	for look := 1; err == nil && len(found) > 0 && look < looks; look++ {
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(again):
		}
		before := map[string]bool{}
		for _, f := range found {
			before[f] = true
		}
		if found, err = check(); err != nil {
			return nil, err
		}
		var both []string
		for _, f := range found {
			if before[f] {
				both = append(both, f)
			}
		}
		if len(both) == len(found) || look == looks-1 {
			return both, nil
		}
	}
	return found, err
}
