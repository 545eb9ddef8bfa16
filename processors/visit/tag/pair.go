package tag

import (
	"cmp"
	"slices"
	"sort"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// hit is a shot that stands: its valid, not withdrawn, latest version.
type hit struct {
	shot    *shot
	fact    *Fact // the entry that counts
	origin  *Fact // the entry that was seen first
	at      int64 // when it was hit
	lo, hi  int64 // between which instants; at where that is known
	turn    int64 // the time that it is ordered by
	home    stretch
	primary *hit // the hit that this one is another view of
	second  *hit // the other view of this hit
	tag     Tag
}

// complement returns the role of the other device of a hit, and whether the
// role is the one that carries the hit.
func complement(r event.Role) (other event.Role, carries bool) {
	switch r {
	case event.Role_ROLE_BALL:
		return event.Role_ROLE_CLUB, true
	case event.Role_ROLE_CLUB:
		return event.Role_ROLE_BALL, false
	case event.Role_ROLE_ROLL:
		return event.Role_ROLE_STROKE, true
	case event.Role_ROLE_STROKE:
		return event.Role_ROLE_ROLL, false
	}
	return r, false
}

// pair joins the two views of a hit among the hits of one stretch: of
// different devices and complementary roles, at most window apart, each the
// nearest to the other. Times that are unsure compare only with one another
// in one journal: their clock is the same, and what it says is not the hub's.
func pair(tl *visit.Timeline, hits []*hit, window int64) {
	if !slices.ContainsFunc(hits, func(h *hit) bool { return h.fact.Role != hits[0].fact.Role }) {
		return // one kind of device: nothing to join
	}
	type clock struct {
		journal string // empty: the hub's
		role    event.Role
	}
	lanes := map[clock][]*hit{}
	time := func(h *hit) int64 { return h.origin.Effective }
	clockOf := func(h *hit) string {
		if h.origin.Unsure {
			return "!" + h.origin.Journal
		}
		return ""
	}
	free := make([]*hit, 0, len(hits))
	for _, h := range hits {
		if !tl.Overlay(h.shot.id).Unpaired {
			free = append(free, h)
			c := clock{clockOf(h), h.fact.Role}
			lanes[c] = append(lanes[c], h)
		}
	}
	if len(lanes) < 2 {
		return
	}
	for _, lane := range lanes {
		slices.SortFunc(lane, func(a, b *hit) int {
			if c := cmp.Compare(time(a), time(b)); c != 0 {
				return c
			}
			return compareOrigins(a, b)
		})
	}
	nearest := func(h *hit) *hit {
		other, _ := complement(h.fact.Role)
		lane := lanes[clock{clockOf(h), other}]
		from := sort.Search(len(lane), func(i int) bool { return time(lane[i]) >= time(h)-window })
		var best *hit
		for _, o := range lane[from:] {
			if time(o) > time(h)+window {
				break
			}
			if o.fact.Device != h.fact.Device && (best == nil || distance(time(o), time(h)) < distance(time(best), time(h))) {
				best = o
			}
		}
		return best
	}
	for _, h := range free {
		if _, carries := complement(h.fact.Role); !carries {
			continue
		}
		if o := nearest(h); o != nil && nearest(o) == h {
			h.second, o.primary = o, h
		}
	}
}

func distance(a, b int64) int64 {
	if a < b {
		return b - a
	}
	return a - b
}

// compareOrigins breaks ties of time: journal, seq, id.
func compareOrigins(a, b *hit) int { return a.origin.Key.compare(b.origin.Key) }
