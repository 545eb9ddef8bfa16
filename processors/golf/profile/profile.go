package profile

import (
	"fairlead/ingest/contract/glossary"
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Options say whose shots they are.
type Options struct {
	Category glossary.Category // which club; the bands depend on it
	Left     bool              // the player is left-handed: see the package comment
	// Use picks shots by index; nil uses all. With Split it keeps the shots that
	// describe a player apart from those that judge a build.
	Use []int
}

// Profile is a player's swing with one kind of club on one day, handed.
type Profile struct {
	Category  glossary.Category
	Left      bool
	Shots     int
	Reference *Build // what it was adjusted to; nil: as measured
	Suspects  []Suspect
	Notes     []string
	terms     map[Term]Estimate
	// away is how far the measured club was from Reference, by attribute; what
	// is absent was unknown.
	away map[string]float64
}

// Suspect is a shot that stands far off the others. It is reported, never left
// out: the caller decides, and can leave it out with Options.Use.
type Suspect struct {
	Shot   int // index into the shots that were given
	Term   Term
	Value  float64 // handed
	Median float64
	Score  float64 // distance from the median in robust standard deviations
}

// suspectScore is the distance at which a shot is suspect, in robust standard
// deviations (1.4826 MAD): 3.5 as Iglewicz and Hoaglin (1993) advise.
const suspectScore = 3.5

// FromShots describes the swing in shots. Terms with too few shots are there,
// not Known, with how many more it takes; no shots at all are no error.
func FromShots(shots []Shot, o Options) (Profile, error) {
	if _, ok := bands[o.Category]; !ok {
		return Profile{}, &ShotError{0, "category", fmt.Sprintf("%q has no full swing to describe", o.Category),
			"use driver, wood, hybrid, iron or wedge"}
	}
	use := o.Use
	if use == nil {
		use = make([]int, len(shots))
		for i := range use {
			use[i] = i
		}
	}
	seen := map[int]bool{}
	values := map[Term][]float64{}
	index := map[Term][]int{}
	var xs, ys []float64
	for _, i := range use {
		if i < 0 || i >= len(shots) || seen[i] {
			return Profile{}, &ShotError{0, "shots to use", fmt.Sprintf("index %d is outside the %d shots or there twice", i, len(shots)),
				"number shots from 0, each once"}
		}
		seen[i] = true
		if err := shots[i].check(i + 1); err != nil {
			return Profile{}, err
		}
		s := shots[i].Handed(o.Left)
		for _, t := range Terms() {
			if v := s.get(t); v.Known {
				values[t] = append(values[t], v.V)
				index[t] = append(index[t], i)
			}
		}
		if s.StrikeX.Known && s.StrikeY.Known {
			xs, ys = append(xs, s.StrikeX.V), append(ys, s.StrikeY.V)
		}
	}
	p := Profile{Category: o.Category, Left: o.Left, Shots: len(use), terms: map[Term]Estimate{}}
	for _, t := range Terms() {
		if t == StrikeScatter {
			p.terms[t] = newScatter(xs, ys)
			continue
		}
		p.terms[t] = newEstimate(t, values[t])
		p.Suspects = append(p.Suspects, suspects(t, values[t], index[t])...)
	}
	if note := drift(values[Speed]); note != "" {
		p.Notes = append(p.Notes, note)
	}
	return p, nil
}

// Get returns a term's estimate.
func (p Profile) Get(t Term) Estimate {
	e, ok := p.terms[t]
	if !ok {
		return Estimate{Term: t, More: MinShots}
	}
	return e
}

// All returns the estimates in the order of Terms.
func (p Profile) All() []Estimate {
	var out []Estimate
	for _, t := range Terms() {
		out = append(out, p.Get(t))
	}
	return out
}

// suspects marks values far from the median. Below eight shots the median
// absolute deviation says too little to accuse anyone.
func suspects(t Term, values []float64, index []int) []Suspect {
	if len(values) < 8 {
		return nil
	}
	median := medianOf(values)
	off := make([]float64, len(values))
	for i, v := range values {
		off[i] = math.Abs(v - median)
	}
	scale := math.Max(1.4826*medianOf(off), facts[t].resolution)
	var out []Suspect
	for i, v := range values {
		if score := math.Abs(v-median) / scale; score > suspectScore {
			out = append(out, Suspect{index[i], t, v, median, score})
		}
	}
	return out
}

func medianOf(values []float64) float64 {
	s := append([]float64(nil), values...)
	sort.Float64s(s)
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

// drift notes a baseline in which the player was still getting faster (warming
// up) or slower (tiring): a straight line through speed in the order hit, told
// from none at one in a hundred. Warming up alone can add an eighth of the
// speed (Fradkin et al. 2004, Br. J. Sports Med. 38:762).
func drift(speed []float64) string {
	n := float64(len(speed))
	if n < 8 {
		return ""
	}
	order := make([]float64, len(speed))
	for i := range order {
		order[i] = float64(i)
	}
	a, b := stat.LinearRegression(order, speed, nil, false)
	var rss, sxx float64
	for i, x := range order {
		rss += math.Pow(speed[i]-a-b*x, 2)
		sxx += math.Pow(x-(n-1)/2, 2)
	}
	se := math.Sqrt(math.Max(rss/(n-2), 0.1*0.1/12) / sxx)
	if p := 2 * (distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 2}).CDF(-math.Abs(b)/se); p > 0.01 {
		return ""
	}
	if b > 0 {
		return fmt.Sprintf("clubhead speed rose by %.1f m/s over the baseline: the player may still have been warming up; hit the baseline again",
			b*(n-1))
	}
	return fmt.Sprintf("clubhead speed fell by %.1f m/s over the baseline: the player may have been tiring; rest and hit some of it again",
		-b*(n-1))
}
