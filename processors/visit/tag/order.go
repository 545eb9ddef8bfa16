package tag

import (
	"cmp"
	"slices"

	"fairlead/processors/visit"
)

// number gives the hits of one session their places: in the session, in their
// trial, and since the club in hand changed.
func number(tl *visit.Timeline, hits []*hit) {
	steady(hits)
	slices.SortFunc(hits, func(a, b *hit) int {
		if c := cmp.Compare(a.turn, b.turn); c != 0 {
			return c
		}
		return compareOrigins(a, b)
	})
	inTrial := map[*visit.Trial]*int{}
	var in *visit.Trial
	var place *int
	run := 0
	for i, h := range hits {
		if in == nil || h.tag.Trial != in.ID {
			next := tl.Trial(h.tag.Trial)
			if in == nil || !sameClub(in, next) {
				run = 0
			}
			in = next
			if place = inTrial[in]; place == nil {
				place = new(int)
				inTrial[in] = place
			}
		}
		run++
		*place++
		h.tag.OrderInSession, h.tag.OrderInTrial, h.tag.Swap = i+1, *place, run
	}
}

// sameClub says whether two trials are hit with one club: two of which only the
// name is known are two.
func sameClub(a, b *visit.Trial) bool {
	return a.BuildKey == b.BuildKey && a.Build.GetName() == b.Build.GetName()
}

// steady sets the times to order hits by: an unsure time of a journal never
// lies before an unsure one of an earlier entry, so a clock that steps back
// does not turn the order round. (Where the boot is known a steady clock tells.)
func steady(hits []*hit) {
	var unsure []*hit
	for _, h := range hits {
		h.turn = h.at
		if h.origin.Unsure && h.origin.Boot == "" {
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
