package dispersion

import (
	"fmt"
	"math"
	"slices"
)

// Robust is the centre and scatter of the shots that agree with each other,
// and beside it the share that does not: the mishits. It answers "how does
// this player scatter when they strike it", never "how tight is this club";
// the classical numbers stay the main ones.
//
// It is the reweighted minimum covariance determinant (Rousseeuw & Van
// Driessen 1999, Technometrics 41:212): of all subsets of h = ⌊3n/4⌋ shots the
// one with the smallest |S|, scaled to be consistent for a normal scatter and
// corrected for small n; shots beyond χ²₂(0.975) = 7.378 of it are mishits, and
// centre and scatter are those of the rest.
type Robust struct {
	N      int
	H      int // shots in the core
	NotYet bool
	More   int        // shots still needed
	Why    string     // what is missing
	Centre [2]float64 // carry, offline; m
	Cov    [3]float64 // m²
	// SpreadRatio is robust over classical √|S|: far below 1, a few shots make
	// most of the area.
	SpreadRatio float64
	Mishits     []int // indices of the shots
	MishitRate  Stat
	// Changes says, in words, what would read differently without the mishits.
	Changes []string
}

// mishitCut is χ²₂(0.975).
const mishitCut = 7.377758908227871

// NewRobust estimates centre and scatter from points (carry, offline). Below
// MinRobust points, and where three quarters of them lie on one line, it is
// 'not yet'.
func NewRobust(points [][2]float64, level float64) Robust {
	n := len(points)
	if n < MinRobust {
		return unready(notYet(n, MinRobust))
	}
	out := Robust{N: n, H: 3 * n / 4}
	whole, err := NewScatter(points)
	var subset []int
	if err == nil && !whole.Singular() {
		subset = smallest(points, whole, out.H)
	}
	if subset == nil {
		return unready(without(n, "most shots lie on one line or one spot"))
	}
	core, _ := NewScatter(pick(points, subset))
	cov := scaled(core.Cov(), consistency(float64(out.H)/float64(n))*rawCorrection(n, out.H))
	var keep []int
	for i, p := range points {
		if distance2(p, core.Mean, cov) > mishitCut {
			out.Mishits = append(out.Mishits, i)
		} else {
			keep = append(keep, i)
		}
	}
	rest, _ := NewScatter(pick(points, keep))
	out.Centre = rest.Mean
	out.Cov = scaled(rest.Cov(), consistency(0.975)*finalCorrection(n))
	out.MishitRate = shareStat(len(out.Mishits), n, level)
	det := max(out.Cov[0]*out.Cov[2]-out.Cov[1]*out.Cov[1], 0)
	out.SpreadRatio = math.Sqrt(det) * float64(n-1) / math.Sqrt(whole.Det())
	out.Changes = changes(whole, rest, out)
	return out
}

func unready(s Stat) Robust {
	return Robust{N: s.N, NotYet: true, More: s.More, Why: s.Why, MishitRate: s}
}

// changes compares the answers with and without the mishits: a centre outside
// the classical 95 % interval, or an area less than 70 % of the classical one.
func changes(whole, rest Scatter, r Robust) []string {
	if len(r.Mishits) == 0 {
		return nil
	}
	var out []string
	if e, err := whole.MeanEllipse(0.95); err == nil && distance2(rest.Mean, whole.Mean, whole.Cov()) > e.C {
		out = append(out, fmt.Sprintf("without the %d mishits the centre moves by %.1f m in carry and %.1f m across",
			len(r.Mishits), rest.Mean[0]-whole.Mean[0], rest.Mean[1]-whole.Mean[1]))
	}
	if r.SpreadRatio < 0.7 {
		out = append(out, fmt.Sprintf("without the %d mishits the area is %.0f %% of what all shots cover",
			len(r.Mishits), 100*r.SpreadRatio))
	}
	return out
}

// consistency makes the covariance of the inner share of a bivariate normal
// consistent: share / P(χ²₄ ≤ χ²₂(share)) (Croux & Haesbroeck 1999, J.
// Multivariate Anal. 71:161); both quantiles have closed forms.
func consistency(share float64) float64 {
	if share >= 1 {
		return 1
	}
	q := -2 * math.Log1p(-share)
	return share / (1 - (1-share)*(1+q/2))
}

// rawCorrection widens the covariance of the core so that, in a clean normal
// trial of n shots, 2.5 % are called mishits whatever n is; without it one in
// ten would be at n = 20. The form is our own, fitted to the 97.5 % point of
// distances in 80,000 simulated shots at each of n = 20…400 (the last term is
// the part of a shot that rounding h down lost); a test holds it. Pison, Van
// Aelst & Willems 2002 (Metrika 55:111) describe the need.
func rawCorrection(n, h int) float64 {
	m := float64(n)
	return math.Exp(15.5/m - 45/(m*m) + 2*(0.75-float64(h)/m))
}

// finalCorrection makes ½ln|S| of the reweighted scatter unbiased, in the same way.
func finalCorrection(n int) float64 { return math.Exp(1.5 / float64(n)) }

func scaled(m [3]float64, k float64) [3]float64 { return [3]float64{m[0] * k, m[1] * k, m[2] * k} }

// distance2 is the squared statistical distance (x−m)ᵀS⁻¹(x−m).
func distance2(x, m [2]float64, s [3]float64) float64 {
	d0, d1 := x[0]-m[0], x[1]-m[1]
	return (d0*d0*s[2] - 2*d0*d1*s[1] + d1*d1*s[0]) / (s[0]*s[2] - s[1]*s[1])
}

func pick(points [][2]float64, index []int) [][2]float64 {
	out := make([][2]float64, len(index))
	for i, j := range index {
		out[i] = points[j]
	}
	return out
}

const (
	allTriples   = 1200 // up to this many starts, every triple is one (n = 20: 1140)
	someTriples  = 600
	keptTriples  = 10
	longestSteps = 50
)

// smallest returns the h points whose covariance has the smallest determinant,
// in ascending order, or nil when h points lie on one line. It starts from
// triples (all, or a fixed pseudo-random choice), takes two concentration
// steps from each, and carries the best ten on until they stand still.
func smallest(points [][2]float64, whole Scatter, h int) []int {
	type start struct {
		det    float64
		subset []int
	}
	var best []start
	c := newConcentrator(points, whole, h)
	for _, t := range triples(len(points)) {
		det, ok := c.from(t[:], 2)
		if !ok {
			continue
		}
		if det <= 0 {
			return nil
		}
		if len(best) < keptTriples || det < best[len(best)-1].det {
			best = append(best, start{det, slices.Clone(c.subset)})
			slices.SortStableFunc(best, func(a, b start) int {
				switch {
				case a.det < b.det:
					return -1
				case a.det > b.det:
					return 1
				}
				return 0
			})
			best = best[:min(len(best), keptTriples)]
		}
	}
	var found []int
	low := math.Inf(1)
	for _, b := range best {
		if det, ok := c.from(b.subset, longestSteps); ok && det < low {
			low, found = det, slices.Clone(c.subset)
		}
	}
	if low <= 0 {
		return nil
	}
	return found
}

// triples lists starting subsets: all of them for few points, else a fixed
// choice by a linear congruential sequence (Knuth's MMIX constants), so that
// equal shots give equal answers.
func triples(n int) [][3]int {
	var out [][3]int
	if n*(n-1)*(n-2)/6 <= allTriples {
		for i := range n {
			for j := i + 1; j < n; j++ {
				for k := j + 1; k < n; k++ {
					out = append(out, [3]int{i, j, k})
				}
			}
		}
		return out
	}
	state := uint64(n)
	next := func() int {
		state = state*6364136223846793005 + 1442695040888963407
		return int((state >> 33) % uint64(n))
	}
	for len(out) < someTriples {
		if i, j, k := next(), next(), next(); i != j && j != k && i != k {
			out = append(out, [3]int{i, j, k})
		}
	}
	return out
}

// concentrator takes concentration steps: the h points nearest to a subset's
// mean, by its own covariance, never have a larger determinant than it.
type concentrator struct {
	points  [][2]float64 // scaled by each axis' sd, for fair rounding
	h       int
	subset  []int // ascending
	picked  [][2]float64
	dist    []float64
	scratch []float64
}

func newConcentrator(points [][2]float64, whole Scatter, h int) *concentrator {
	c := &concentrator{h: h, subset: make([]int, 0, h), dist: make([]float64, len(points)), scratch: make([]float64, len(points))}
	s := whole.Cov()
	for _, p := range points {
		c.points = append(c.points, [2]float64{(p[0] - whole.Mean[0]) / math.Sqrt(s[0]), (p[1] - whole.Mean[1]) / math.Sqrt(s[2])})
	}
	return c
}

// from starts at a subset and takes at most steps; it leaves the last subset
// in c.subset and returns its determinant, 0 when its points lie on a line. A
// start whose own points lie on a line is no start (false).
func (c *concentrator) from(subset []int, steps int) (det float64, ok bool) {
	s := c.scatter(subset)
	if s.Det() <= 1e-12 {
		return 0, false
	}
	last := math.Inf(1)
	for range steps {
		cov := s.Cov()
		for i, p := range c.points {
			c.dist[i] = distance2(p, s.Mean, cov)
		}
		c.nearest()
		s = c.scatter(c.subset)
		det = s.Det() / float64((c.h-1)*(c.h-1))
		if det <= 1e-12 {
			return 0, true
		}
		if det >= last {
			break
		}
		last = det
	}
	return det, true
}

// nearest puts the h points of the smallest c.dist into c.subset; of equal
// ones the first.
func (c *concentrator) nearest() {
	copy(c.scratch, c.dist)
	edge := smallestAt(c.scratch, c.h-1)
	equal := c.h // room for points at the edge
	for _, d := range c.dist {
		if d < edge {
			equal--
		}
	}
	c.subset = c.subset[:0]
	for i, d := range c.dist {
		switch {
		case d < edge:
		case d == edge && equal > 0:
			equal--
		default:
			continue
		}
		c.subset = append(c.subset, i)
	}
}

func (c *concentrator) scatter(subset []int) Scatter {
	c.picked = c.picked[:0]
	for _, i := range subset {
		c.picked = append(c.picked, c.points[i])
	}
	s, _ := NewScatter(c.picked)
	return s
}

// smallestAt returns the value that stands at k (from 0) when v is sorted, and
// leaves v in another order (Hoare 1961, Commun. ACM 4:321).
func smallestAt(v []float64, k int) float64 {
	low, high := 0, len(v)-1
	for low < high {
		pivot := v[(low+high)/2]
		i, j := low, high
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return v[k]
		}
	}
	return v[k]
}
