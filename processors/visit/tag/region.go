package tag

import (
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// regions joins stretches that moved shots tie together: what is tagged in one
// may depend on what was hit in another of the same region and on nothing
// else. It is a union-find over the stretches.
type regions struct {
	parent map[stretch]stretch
	ids    map[stretch]int // by root: entries of the shots of the region
}

func (r *regions) find(s stretch) stretch {
	p, ok := r.parent[s]
	if !ok {
		r.parent[s] = s
		return s
	}
	if p == s {
		return s
	}
	root := r.find(p)
	r.parent[s] = root
	return root
}

func (r *regions) join(a, b stretch) {
	if x, y := r.find(a), r.find(b); x != y {
		r.parent[x] = y
	}
}

// target is the session that a shot was moved to; nil: it was not, or to nobody.
func target(tl *visit.Timeline, id event.ShotID) *visit.Session {
	m := tl.Overlay(id).Moved
	if m == nil || m.Trial == "" {
		return nil
	}
	return tl.Trial(m.Trial).Session
}

// newRegions builds the regions of the given shots and counts, for each, the
// entries of all shots that have at least one entry in it.
func newRegions(tl *visit.Timeline, shots []*shot) *regions {
	r := &regions{parent: map[stretch]stretch{}, ids: map[stretch]int{}}
	for _, s := range shots {
		if to := target(tl, s.id); to != nil {
			for i := range s.facts {
				r.join(stretchAt(tl, placed(tl, &s.facts[i].Fact)), stretchOf(to.Stay))
			}
		}
	}
	find := finder{tl: tl}
	var last, root stretch // shots that follow one another mostly lie together
	for _, s := range shots {
		if len(s.facts) == 1 {
			at := find.at(placed(tl, s.first()))
			if at != last || root == (stretch{}) {
				last, root = at, r.find(at)
			}
			r.ids[root]++
			continue
		}
		seen := map[stretch]bool{}
		for i := range s.facts {
			root := r.find(stretchAt(tl, placed(tl, &s.facts[i].Fact)))
			if !seen[root] {
				seen[root] = true
				r.ids[root] += len(s.facts)
			}
		}
	}
	return r
}

// size is the number of entries known in the region of a stretch.
func (r *regions) size(s stretch) int { return r.ids[r.find(s)] }
