package tag

// groups sorts hits by a key, in the order that they come. Hits that follow one
// another mostly belong together, so the group of the last one is at hand.
type groups[K comparable] struct {
	at    map[K]int
	hits  [][]*hit // a list for each group
	last  K
	group int // of last; -1: none yet
}

func newGroups[K comparable]() *groups[K] { return &groups[K]{at: map[K]int{}, group: -1} }

func (g *groups[K]) add(k K, h *hit) {
	if g.group < 0 || g.last != k {
		i, ok := g.at[k]
		if !ok {
			i = len(g.hits)
			g.at[k] = i
			g.hits = append(g.hits, nil)
		}
		g.last, g.group = k, i
	}
	g.hits[g.group] = append(g.hits[g.group], h)
}
