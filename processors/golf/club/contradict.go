package club

import (
	"fmt"
	"math"
)

// contradictions look at three neighbours at a time: where the one in the middle
// carries far from where the lofts on both sides put it, the two gaps beside it
// are one question, and no club is bought or bent on either. The first thing is
// to gauge that club and to hit it again.
func (g *Gapping) contradictions() {
	for i := 1; i+1 < len(g.Full); i++ {
		a, b, c := g.Full[i-1], g.Full[i], g.Full[i+1]
		off, ok := offItsLofts(a, b, c)
		if !ok || math.Abs(off) < g.Options.MinGap {
			continue
		}
		word := "farther"
		if off < 0 {
			word = "shorter"
		}
		advice := fmt.Sprintf("first gauge the loft of %s and hit it again: it carries %s than %s and %s beside it and the three lofts allow",
			b.Name(), word, a.Name(), c.Name())
		for _, k := range []int{i - 1, i} {
			if g.Gaps[k].Verdict != Fine || g.Gaps[k].Advice != "" {
				g.Gaps[k].Advice = advice
			}
		}
		g.Notes = append(g.Notes, fmt.Sprintf("carries and lofts of %s, %s and %s contradict each other: %s", a.Name(), b.Name(), c.Name(),
			advice))
	}
}

// offItsLofts is how much farther, in m, the middle one of three irons or wedges
// carries than a straight line by loft between the outer ones; ok is false where
// lofts or shots are missing, or the difference may be chance.
func offItsLofts(a, b, c Position) (off float64, ok bool) {
	for _, p := range []Position{a, b, c} {
		if !isIronFamily(p.Category) || p.Loft == 0 || !p.Carry.Ready() {
			return 0, false
		}
	}
	if c.Loft-a.Loft < 2 || b.Loft <= a.Loft || b.Loft >= c.Loft {
		return 0, false // lofts out of their order are said by themselves
	}
	share := (b.Loft - a.Loft) / (c.Loft - a.Loft)
	off = b.Carry.Mean - (a.Carry.Mean + share*(c.Carry.Mean-a.Carry.Mean))
	variance := func(p Position) float64 { return p.Carry.SD * p.Carry.SD / float64(p.Carry.N) }
	se := math.Sqrt(variance(b) + (1-share)*(1-share)*variance(a) + share*share*variance(c))
	return off, math.Abs(off) > 2*se
}
