package tag

import (
	"cmp"
	"slices"
)

// spans is a set of instants as sorted, disjoint pieces, both ends included.
type spans []span

type span struct{ from, to int64 }

// add joins [from, to] to the set; nothing when from is after to.
func (s *spans) add(from, to int64) {
	if from > to {
		return
	}
	kept := make(spans, 0, len(*s)+1)
	for _, p := range *s {
		// Neighbouring nanoseconds are joined too.
		if (p.to < from && p.to+1 < from) || (to < p.from && to+1 < p.from) {
			kept = append(kept, p)
			continue
		}
		from, to = min(from, p.from), max(to, p.to)
	}
	kept = append(kept, span{from, to})
	slices.SortFunc(kept, func(a, b span) int { return cmp.Compare(a.from, b.from) })
	*s = kept
}

// cut takes [from, to) out of the set.
func (s *spans) cut(from, to int64) {
	kept := make(spans, 0, len(*s)+1)
	for _, p := range *s {
		if from < to && p.from < to && from <= p.to {
			if p.from < from {
				kept = append(kept, span{p.from, from - 1})
			}
			if p.to >= to {
				kept = append(kept, span{to, p.to})
			}
			continue
		}
		kept = append(kept, p)
	}
	*s = kept
}

// covers says whether all of [from, to] is in the set.
func (s spans) covers(from, to int64) bool {
	for _, p := range s {
		if p.from <= from && to <= p.to {
			return true
		}
	}
	return from > to
}

// touches says whether some of [from, to] is in the set.
func (s spans) touches(from, to int64) bool {
	for _, p := range s {
		if p.from <= to && from <= p.to {
			return true
		}
	}
	return false
}
