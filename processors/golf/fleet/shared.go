package fleet

import (
	"cmp"
	"slices"
)

// SharedFactor is what many players' trials have in common, with the levels that
// enough players met to have an effect of their own.
type SharedFactor struct {
	Name   string
	Levels []string
}

// sharedFact says how a trial has a factor. Sloped factors change what a step of an
// attribute does; the others have heights: what a build does beyond its figures.
type sharedFact struct {
	name   string
	of     func(*Trial) string
	sloped bool
	most   int  // levels: those that most players met
	named  bool // only for questions that name it
}

// sharedFacts are the crossed effects of the standard model. A studio's height is
// swept out with its sessions'.
var sharedFacts = [...]sharedFact{
	{"studio", func(t *Trial) string { return t.Studio }, true, 40, false},
	{"build", func(t *Trial) string { return t.Build }, false, 120, false},
	{"head", func(t *Trial) string { return t.Head }, false, 60, false},
	{"shaft", func(t *Trial) string { return t.Shaft }, false, 60, false},
	{"grip", func(t *Trial) string { return t.Grip }, false, 60, true},
	{"ball", func(t *Trial) string { return t.Ball }, false, 60, true},
}

// A level needs metBy players to have an effect, a factor fewestLevels of them to
// have a variance. What fewer met is part of the trial noise.
const metBy, fewestLevels = 5, 5

// countRoom is how many levels are counted before those that few players met are
// let go of (lossy counting; Manku & Motwani, VLDB 2002): a fleet holds as many
// builds as players, and nearly all of them belong to one.
const countRoom = 100_000

// sharing counts the players by level of each factor.
type sharing struct {
	mine  [len(sharedFacts)][]string // levels of the player at hand
	count [len(sharedFacts)]map[string]int
	floor [len(sharedFacts)]int
}

func (s *sharing) add(t *Trial) {
	for f, fact := range sharedFacts {
		if v := fact.of(t); v != "" && (len(s.mine[f]) == 0 || s.mine[f][len(s.mine[f])-1] != v) && !slices.Contains(s.mine[f], v) {
			s.mine[f] = append(s.mine[f], v)
		}
	}
}

func (s *sharing) closePlayer() {
	for f := range sharedFacts {
		if s.count[f] == nil {
			s.count[f] = map[string]int{}
		}
		for _, v := range s.mine[f] {
			if s.count[f][v] == 0 {
				s.count[f][v] = s.floor[f] // at most so many were let go of
			}
			s.count[f][v]++
		}
		s.mine[f] = s.mine[f][:0]
		if len(s.count[f]) > countRoom {
			s.floor[f]++
			for v, n := range s.count[f] {
				if n <= s.floor[f] {
					delete(s.count[f], v)
				}
			}
		}
	}
}

// factors are those with enough levels: the standard ones and those that are named.
// Of a factor that is named two levels are enough to be told apart.
func (s *sharing) factors(also []string) []SharedFactor {
	var out []SharedFactor
	for f, fact := range sharedFacts {
		asked := slices.Contains(also, fact.name)
		if fact.named && !asked {
			continue
		}
		var names []string
		for v, n := range s.count[f] {
			if n >= metBy+s.floor[f] {
				names = append(names, v)
			}
		}
		if len(names) < fewestLevels && !(asked && len(names) >= 2) {
			continue
		}
		slices.SortFunc(names, func(a, b string) int { return cmp.Or(cmp.Compare(s.count[f][b], s.count[f][a]), cmp.Compare(a, b)) })
		names = slices.Clone(names[:min(len(names), fact.most)])
		slices.Sort(names)
		out = append(out, SharedFactor{fact.name, names})
	}
	return out
}

// reader finds a trial's levels.
type reader struct {
	of     []func(*Trial) string
	levels []map[string]int32
	out    []int32
}

func newReader(shared []SharedFactor) *reader {
	r := &reader{out: make([]int32, len(shared))}
	for _, s := range shared {
		at := map[string]int32{}
		for i, v := range s.Levels {
			at[v] = int32(i)
		}
		of := func(*Trial) string { return "" }
		for _, fact := range sharedFacts {
			if fact.name == s.Name {
				of = fact.of
			}
		}
		r.of, r.levels = append(r.of, of), append(r.levels, at)
	}
	return r
}

// read is valid until the next one.
func (r *reader) read(t *Trial) []int32 {
	for f := range r.of {
		r.out[f] = -1
		if l, ok := r.levels[f][r.of[f](t)]; ok {
			r.out[f] = l
		}
	}
	return r.out
}

// cross adds the design's shared effects to its model.
func (d *Design) cross(m *Model) {
	for f, s := range d.Shared {
		m.Factors = append(m.Factors, s.Name)
		if !slices.ContainsFunc(sharedFacts[:], func(x sharedFact) bool { return x.name == s.Name && x.sloped }) {
			m.Crossed = append(m.Crossed, Crossing{f, -1, len(s.Levels)})
			continue
		}
		for i := range d.Attributes {
			m.Crossed = append(m.Crossed, Crossing{f, i, len(s.Levels)})
		}
	}
}
