package evidence

import (
	"math"
	"slices"

	"fairlead/ingest/contract/glossary"
)

// How a mishit is told from a shot that came out as meant: it scatters mishitWide
// times as wide as shots of either club do. How many of the shots there are is
// learnt from the shots, beginning with mishitPrior shots of which one was a mishit
// in twenty. Where more than mostMishits of them would be, the shots are two heaps
// rather than a heap with mishits, and none is left out.
const (
	mishitWide   = 4.0
	mishitPrior  = 20.0
	mostMishits  = 0.3
	leastToJudge = 5   // shots of either club
	lentShots    = 4.0 // by both clubs' common scatter to that of one
	mishitRounds = 30
	settled      = 1e-3 // how far no probability moves any more
	clearlyGood  = 0.8  // what no mishit begins with
	surelyOdd    = 0.1  // below which one is taken for a mishit: at even odds two good shots of a thousand went, of small spreads the widest
)

// withoutMishits returns the shots that count for a spread: without those that are
// nine times likelier mishits than not. A spread of all shots is mostly one of the mishits; what
// is judged is what a club does to the others, and how many mishits each made is said
// beside. The shots of both clubs are looked at together, each club with a centre and a
// scatter of its own; a mishit is one by the same measure with either: a mixture of two normals by the
// EM algorithm (Dempster, Laird & Rubin, J. R. Stat. Soc. B 39:1, 1977; for outliers
// Aitkin & Wilson, Technometrics 22:325, 1980), begun from medians so that a mishit
// does not hide itself. Putts have none.
func withoutMishits(category glossary.Category, shots []placed) []placed {
	if category == glossary.Putter {
		return shots
	}
	m, ok := newHeap(shots, relative(category))
	if !ok {
		return shots
	}
	for range mishitRounds {
		moved, ok := m.step()
		if !ok || slices.Min(m.good) > clearlyGood {
			return shots
		}
		if moved < settled {
			break
		}
	}
	odd := map[int]bool{}
	for i, p := range m.points {
		if m.good[i] < surelyOdd {
			odd[p.index] = true
		}
	}
	if len(odd) == 0 || float64(len(odd)) > mostMishits*float64(len(m.points)) {
		return shots
	}
	kept := make([]placed, 0, len(shots)-len(odd))
	for i, s := range shots {
		if !odd[i] {
			kept = append(kept, s)
		}
	}
	return kept
}

// mixed is a shot of the mixture: percent of its club's carry, and deg.
type mixed struct {
	index, side int
	at          [2]float64
}

// heap is the state of the search: how likely each shot is a good one, and what the
// good ones of each club look like.
type heap struct {
	points []mixed
	good   []float64
	centre [2][2]float64
	own    [2][3]float64 // scatter of each club's good shots: xx, xy, yy
	common [3]float64
	share  float64 // of mishits
}

func newHeap(shots []placed, p plane) (*heap, bool) {
	m := &heap{share: 1 / mishitPrior, points: make([]mixed, 0, len(shots))}
	var values [2][2][]float64
	for side := range values {
		for axis := range values[side] {
			values[side][axis] = make([]float64, 0, len(shots))
		}
	}
	for i, s := range shots {
		at, ok := p.point(s)
		if !ok {
			continue
		}
		side := 0
		if s.candidate {
			side = 1
		}
		m.points = append(m.points, mixed{i, side, at})
		for axis := range at {
			values[side][axis] = append(values[side][axis], at[axis])
		}
	}
	if len(values[0][0]) < leastToJudge || len(values[1][0]) < leastToJudge {
		return nil, false
	}
	scale := [2]float64{100 / median(values[0][0]), 100 / median(values[1][0])}
	for i := range m.points {
		m.points[i].at[0] *= scale[m.points[i].side]
	}
	var away [2][]float64
	for side := range values {
		m.centre[side] = [2]float64{100, median(values[side][1])}
	}
	for _, x := range m.points {
		for axis := range away {
			away[axis] = append(away[axis], math.Abs(x.at[axis]-m.centre[x.side][axis]))
		}
	}
	const toSD = 1.4826 // of a normal's median distance from its middle
	for axis, of := range away {
		d := toSD * median(of)
		m.common[2*axis] = d * d
	}
	m.own[0], m.own[1] = m.common, m.common
	m.good = make([]float64, len(m.points))
	return m, m.common[0] > 0 && m.common[2] > 0
}

// step judges the shots by what the good ones look like, and learns from them what
// those look like. moved is the farthest that a probability went; false where the
// shots are all alike.
func (m *heap) step() (moved float64, ok bool) {
	wide := shapeOf(scaledBy(m.common, mishitWide*mishitWide))
	own := [2]shape{shapeOf(m.own[0]), shapeOf(m.own[1])}
	odds := m.share / (1 - m.share)
	var n [2]float64
	for i, x := range m.points {
		away := [2]float64{x.at[0] - m.centre[x.side][0], x.at[1] - m.centre[x.side][1]}
		s := own[x.side]
		is := 1 / (1 + odds*s.root/wide.root*math.Exp((s.far(away)-wide.far(away))/2))
		moved = max(moved, math.Abs(is-m.good[i]))
		m.good[i] = is
		n[x.side] += is
	}
	if n[0] < 2 || n[1] < 2 {
		return moved, false
	}
	m.share = (float64(len(m.points)) - n[0] - n[1] + 1) / (float64(len(m.points)) + mishitPrior)
	m.centre = [2][2]float64{}
	for i, x := range m.points {
		for axis := range x.at {
			m.centre[x.side][axis] += m.good[i] * x.at[axis] / n[x.side]
		}
	}
	var sums [2][3]float64
	for i, x := range m.points {
		d := [2]float64{x.at[0] - m.centre[x.side][0], x.at[1] - m.centre[x.side][1]}
		for k, v := range [3]float64{d[0] * d[0], d[0] * d[1], d[1] * d[1]} {
			sums[x.side][k] += m.good[i] * v
		}
	}
	for k := range m.common {
		m.common[k] = (sums[0][k] + sums[1][k]) / max(n[0]+n[1]-2, 1)
	}
	for side := range sums {
		for k := range m.common {
			m.own[side][k] = (sums[side][k] + lentShots*m.common[k]) / (n[side] - 1 + lentShots)
		}
	}
	return moved, det2(m.common) > 0 && det2(m.own[0]) > 0 && det2(m.own[1]) > 0
}

func scaledBy(s [3]float64, k float64) [3]float64 { return [3]float64{s[0] * k, s[1] * k, s[2] * k} }

func det2(s [3]float64) float64 { return s[0]*s[2] - s[1]*s[1] }

// shape is a scatter as its density needs it: the inverse, and the root of the
// determinant.
type shape struct{ xx, xy, yy, root float64 }

func shapeOf(s [3]float64) shape {
	det := det2(s)
	return shape{s[2] / det, -s[1] / det, s[0] / det, math.Sqrt(det)}
}

// far is the squared distance of a point from the middle, in the scatter's own widths.
func (s shape) far(x [2]float64) float64 { return s.xx*x[0]*x[0] + 2*s.xy*x[0]*x[1] + s.yy*x[1]*x[1] }

func median(values []float64) float64 {
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
