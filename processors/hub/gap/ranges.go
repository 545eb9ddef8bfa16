package gap

import (
	"slices"
	"sort"

	"fairlead/ingest/contract/event"
)

// Ranges is a set of seqs as sorted, disjoint, non-touching ranges.
type Ranges []Range

// Range is a run of seqs, both ends included.
type Range struct{ From, To uint64 }

// Add puts a run of seqs into the set.
func (r *Ranges) Add(from, to uint64) {
	if to < from {
		return
	}
	s := *r
	// i: first range that touches or follows the new one; j: first beyond it.
	i := sort.Search(len(s), func(k int) bool { return s[k].To+1 >= from })
	j := i
	for j < len(s) && s[j].From <= to+1 {
		from, to = min(from, s[j].From), max(to, s[j].To)
		j++
	}
	*r = slices.Replace(s, i, j, Range{from, to})
}

// Remove takes a run of seqs out of the set.
func (r *Ranges) Remove(from, to uint64) {
	if to < from {
		return
	}
	var out Ranges
	for _, x := range *r {
		if x.From < from {
			out = append(out, Range{x.From, min(x.To, from-1)})
		}
		if x.To > to {
			out = append(out, Range{max(x.From, to+1), x.To})
		}
	}
	*r = out
}

// Has says whether a seq is in the set.
func (r Ranges) Has(seq uint64) bool {
	i := sort.Search(len(r), func(k int) bool { return r[k].To >= seq })
	return i < len(r) && r[i].From <= seq
}

// Count is the number of seqs in the set.
func (r Ranges) Count() (n uint64) {
	for _, x := range r {
		n += x.To - x.From + 1
	}
	return n
}

// Missing returns the runs of [from, to] that are not in the set.
func (r Ranges) Missing(from, to uint64) (out Ranges) {
	for _, x := range r {
		if x.To < from {
			continue
		}
		if x.From > to {
			break
		}
		if x.From > from {
			out = append(out, Range{from, x.From - 1})
		}
		if x.To >= to {
			return out
		}
		from = x.To + 1
	}
	if from <= to {
		out = append(out, Range{from, to})
	}
	return out
}

// Below is the seq below which [floor, …) is held without a hole.
func (r Ranges) Below(floor uint64) uint64 {
	for _, x := range r {
		if x.From > floor {
			break
		}
		if x.To >= floor {
			floor = x.To + 1
		}
	}
	return floor
}

// Highest is the highest seq of the set, 0 when it is empty.
func (r Ranges) Highest() uint64 {
	if len(r) == 0 {
		return 0
	}
	return r[len(r)-1].To
}

// Message turns the set into the contract's form.
func (r Ranges) Message() (out []*event.Range) {
	for _, x := range r {
		out = append(out, &event.Range{From: x.From, To: x.To})
	}
	return out
}
