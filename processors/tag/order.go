package tag

import (
	"cmp"
	"slices"
	"strings"
)

// number gives the hits of one session their places: in the session, in their
// trial, and since the club in hand changed.
func number(hits []*hit, buildOf func(trial string) string) {
	times := steady(hits)
	slices.SortFunc(hits, func(a, b *hit) int {
		return cmp.Or(cmp.Compare(times[a], times[b]), compareOrigins(a, b))
	})
	inTrial := map[string]int{}
	club, run := "", 0
	for i, h := range hits {
		if b := buildOf(h.tag.Trial); i == 0 || b != club {
			club, run = b, 0
		}
		run++
		inTrial[h.tag.Trial]++
		h.tag.OrderInSession, h.tag.OrderInTrial, h.tag.Swap = i+1, inTrial[h.tag.Trial], run
	}
}

// steady returns the times to order hits by: an unsure time of a journal never
// lies before an unsure one of an earlier entry, so a clock that steps back
// does not turn the order round.
func steady(hits []*hit) map[*hit]int64 {
	times := make(map[*hit]int64, len(hits))
	var unsure []*hit
	for _, h := range hits {
		times[h] = h.at
		if h.origin.Unsure {
			unsure = append(unsure, h)
		}
	}
	slices.SortFunc(unsure, func(a, b *hit) int {
		return cmp.Or(strings.Compare(a.origin.Journal, b.origin.Journal), compareOrigins(a, b))
	})
	for i := 1; i < len(unsure); i++ {
		if before := unsure[i-1]; before.origin.Journal == unsure[i].origin.Journal {
			times[unsure[i]] = max(times[unsure[i]], times[before])
		}
	}
	return times
}
