package audit

import (
	"context"
	"log/slog"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/sink"
	"fairlead/processors/hub/store"
)

// looks is how often what differs is looked at before it is called wrong: a row
// that changes meanwhile is on its way. What differs only later came after the
// audit began, and is not waited for: it would never end while shots come.
const looks = 3

// mostLooks bounds how often a row is looked at that changes each time.
const mostLooks = 6

// lookAgain is how long a row that is being written may take.
const lookAgain = 2 * time.Second

// Rows computes every row of an entry, a trial or a verdict of a bay anew from the
// entries and events stored, and lists those that say something else, hold
// something else or are not there, and those that should not be. What differs is
// looked at again after a while. mend makes right what stayed wrong.
func Rows(ctx context.Context, s *store.Store, place stream.Place, mend bool, again time.Duration) (wrong []store.Differing, err error) {
	var suspected suspicions
	for {
		looked, err := s.Now(ctx)
		if err != nil {
			return nil, err
		}
		scratch, err := s.NewScratch(ctx, strings.ToLower(event.NewID(time.Now())))
		if err != nil {
			return nil, err
		}
		found, err := differing(ctx, s, scratch, place)
		seen := make(map[string]uint64, len(found))
		for _, d := range found {
			seen[d.Table+" "+d.Key] = d.Seen
		}
		last := suspected.look(seen)
		wrong = slices.DeleteFunc(found, func(d store.Differing) bool { return !suspected.wrong(d.Table + " " + d.Key) })
		if err == nil && last && mend && len(wrong) > 0 {
			err = scratch.Mend(ctx, place.Studio, place.Bay, wrong, looked)
		}
		scratch.Close(context.WithoutCancel(ctx))
		if err != nil || last {
			return wrong, err
		}
		if err := pause(ctx, again); err != nil {
			return nil, err
		}
	}
}

// suspicions are what differed at each look since the first, and at how many
// looks it was the same.
type suspicions struct {
	n    int // looks
	same map[string]int
	seen map[string]uint64
}

// look takes what differs now, by key and content, and says whether all is known
// that will be: nothing differs any more, or all of it stays as it is.
func (s *suspicions) look(seen map[string]uint64) (last bool) {
	same := map[string]int{}
	last = true
	for key, content := range seen {
		if before, was := s.same[key]; s.n == 0 {
			same[key] = 1
		} else if !was {
			continue // it came since
		} else if s.seen[key] == content {
			same[key] = before + 1
		} else {
			same[key] = 1
		}
		last = last && same[key] >= looks
	}
	s.n, s.same, s.seen = s.n+1, same, seen
	return last || s.n == mostLooks
}

func (s *suspicions) wrong(key string) bool { return s.same[key] >= looks }

func differing(ctx context.Context, s *store.Store, scratch *store.Scratch, place stream.Place) ([]store.Differing, error) {
	err := sink.Recompute(ctx, s, place, slog.New(slog.DiscardHandler), func(r sink.Rows) error {
		return scratch.Insert(ctx, r.Entries, r.Trials, r.Verdicts)
	})
	if err != nil {
		return nil, err
	}
	return scratch.Compare(ctx, place.Studio, place.Bay)
}

// steadily gives what check finds at each of several looks in the same words: what
// is said less often was on its way.
func steadily(ctx context.Context, again time.Duration, check func() ([]string, error)) ([]string, error) {
	var suspected suspicions
	for {
		found, err := check()
		if err != nil {
			return nil, err
		}
		seen := make(map[string]uint64, len(found))
		for _, f := range found {
			seen[f] = 0
		}
		if suspected.look(seen) {
			return slices.DeleteFunc(found, func(f string) bool { return !suspected.wrong(f) }), nil
		}
		if err := pause(ctx, again); err != nil {
			return nil, err
		}
	}
}
