package tag

import (
	"cmp"
	"slices"
)

// number gives the hits of one session their places: in the session, in their
// trial, and since the club in hand changed.
func number(hits []*hit, buildOf func(trial string) string) {
	steady(hits)
	slices.SortFunc(hits, func(a, b *hit) int {
		if c := cmp.Compare(a.turn, b.turn); c != 0 {
			return c
		}
		return compareOrigins(a, b)
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

// steady sets the times to order hits by: an unsure time of a journal never
// lies before an unsure one of an earlier entry, so a clock that steps back
// does not turn the order round.
func steady(hits []*hit) {
	var unsure []*hit
	for _, h := range hits {
		h.turn = h.at
		if h.origin.Unsure {
			unsure = append(unsure, h)
		}
	}
	slices.SortFunc(unsure, compareOrigins)
	for i := 1; i < len(unsure); i++ {
		if before := unsure[i-1]; before.origin.Journal == unsure[i].origin.Journal {
			unsure[i].turn = max(unsure[i].turn, before.turn)
		}
	}
}
