package profile

import (
	"math"
	"time"
)

// VisitNoise is how far a player's mean moves from visit to visit when nothing was
// changed: a standard deviation in the term's unit (strike scatter: of its logarithm), the
// degrees of freedom that it is known with, and of how many players it was learnt.
type VisitNoise struct {
	SD      float64
	DF      float64 // 0: known
	Players int
}

// Noise is, for a studio that knows better from players who came back, the noise of
// visits by term. Terms that are absent keep the working value.
type Noise map[Term]VisitNoise

// workingDegrees is how well a working value is taken to be known in a comparison: a
// variance to within half of itself, one standard deviation of a χ² of eight degrees.
const workingDegrees = 8

// believedDegrees is how firmly it is held against what those who came back say.
const believedDegrees = 4

// tailDegrees are the degrees of a Student's t that stands for days themselves: players
// are not all as steady, and now and then a day is far off.
const tailDegrees = 8

func working(t Term) VisitNoise { return VisitNoise{SD: facts[t].visit, DF: workingDegrees} }

func (n Noise) of(t Term) VisitNoise {
	v, ok := n[t]
	switch {
	case !ok:
		return working(t)
	case v.DF <= 0:
		v.DF = math.Inf(1)
	}
	return v
}

func (n Noise) check() error {
	for t, v := range n {
		if !(v.SD >= 0) || math.IsInf(v.SD, 0) || math.IsNaN(v.DF) {
			return &ShotError{0, "visit noise of " + string(t), "is no standard deviation", "give a value of 0 or more"}
		}
	}
	return nil
}

// Return is a player's swing on two days, or in two halves of one, measured with one
// club by one device at one place with one ball, both profiles as measured.
type Return struct {
	Player        string
	Between       time.Duration
	Before, After Profile
}

const (
	// leastReturners is how many players must have come back before their days say
	// anything of others'.
	leastReturners = 10
	// soon is how far apart two visits may be to be taken for days between which nothing
	// was to change, where enough players came back as soon.
	soon = 120 * 24 * time.Hour
	// leastShare bounds what a lucky few may say: a square of no less than this part of
	// what is believed.
	leastShare = 16
	// mostBetween is how far apart two visits may be to say anything of the noise.
	mostBetween = 500 * 24 * time.Hour
	// bend is where a standardised difference ceases to count by its square: a visit after
	// lessons says no more than one that is a bit odd.
	bend = 1.5
	// bent is the mean of min(z², bend²) of a standard normal z.
	bent = 0.7785
	// slopeOfBent is its derivative by the logarithm of the variance: E(z²; |z| < bend).
	slopeOfBent = 0.4779
)

// LearnNoise estimates the noise of visits from players who came back, believed
// beforehand to be the working value (believedDegrees) or, where it is more, what the
// halves of single visits differ by.
//
// A difference of two visits has the variance 2v² + s², s² its shots' own. v² is Huber's
// proposal 2 (1964, Ann. Math. Stat. 35:73): the one at which min(d²/(2v² + s²), bend²) is
// on average what it is of a normal, so that up to a third of the players may have changed
// something without being taken for noise. Players are the units of its standard error;
// logarithms of squares are combined by precision, and days have tails (tailDegrees).
// Where at least 2·leastReturners players came back within soon, only those visits are
// asked, otherwise all up to mostBetween: then what swings really changed in a year makes
// the noise larger, and the comparisons more careful, not less.
func LearnNoise(visits, halves []Return) Noise {
	near := within(visits, soon)
	if players(near) < 2*leastReturners {
		near = within(visits, mostBetween)
	}
	out := Noise{}
	for _, t := range Terms() {
		held := working(t)
		if half, ok := learn(t, halves, held); ok && half.SD > held.SD {
			held.SD = half.SD
			out[t] = held
		}
		if v, ok := learn(t, near, held); ok {
			out[t] = v
		}
	}
	return out
}

func within(of []Return, limit time.Duration) (near []Return) {
	for _, r := range of {
		if r.Between <= limit {
			near = append(near, r)
		}
	}
	return near
}

func players(of []Return) int {
	met := map[string]bool{}
	for _, r := range of {
		met[r.Player] = true
	}
	return len(met)
}

// learn is LearnNoise of one term; false where too few players came back.
func learn(t Term, of []Return, held VisitNoise) (VisitNoise, bool) {
	var seen []apart
	at := map[string]int{} // in the order met, so that sums round alike
	for _, r := range of {
		a, b := r.Before.Get(t), r.After.Get(t)
		if !a.Known || !b.Known {
			continue
		}
		from, va := a.model()
		to, vb := b.model()
		d := apart{square: (to - from) * (to - from), shots: va + vb}
		if math.IsNaN(d.square) || math.IsInf(d.square, 0) || !(d.shots > 0) {
			continue
		}
		i, met := at[r.Player]
		if !met {
			i = len(at)
			at[r.Player] = i
		}
		d.player = i
		seen = append(seen, d)
	}
	if len(at) < leastReturners {
		return VisitNoise{}, false
	}
	prior := held.SD * held.SD
	square, variance := huber(seen, len(at), prior)
	// Squares are believed and combined by their logarithms: a studio whose days are twice
	// as noisy is as well believed as one whose days are half.
	square = math.Max(square, prior/leastShare)
	believed, seenBy := 2.0/believedDegrees, variance/(square*square)
	ln := (math.Log(square)*believed + math.Log(prior)*seenBy) / (believed + seenBy)
	left := believed * seenBy / (believed + seenBy)
	if math.IsNaN(ln) || math.IsInf(ln, 0) || !(left > 0) {
		return VisitNoise{}, false
	}
	return VisitNoise{SD: math.Exp(ln / 2), DF: 1 / (left/2 + 1/float64(tailDegrees)), Players: len(at)}, true
}

// apart is one difference of two visits: its square and its shots' variance.
type apart struct {
	player        int
	square, shots float64
}

func (d apart) bent(v float64) float64 { return math.Min(d.square/(2*v+d.shots), bend*bend) }

// weight is how much of a difference's variance is the visits', near a believed v².
func (d apart) weight(v float64) float64 { return 2 * v / (2*v + d.shots) }

// huber is the robust v² of differences, 0 at the least, and its variance over players;
// each weighs by what it would say of a believed v².
func huber(of []apart, players int, believed float64) (square, variance float64) {
	sum := func(v float64) (total float64) {
		for _, d := range of {
			total += d.weight(believed) * (d.bent(v) - bent)
		}
		return total
	}
	high := 0.0
	for _, d := range of {
		high = math.Max(high, d.square)
	}
	for range 100 { // the sum falls as v rises
		middle := (square + high) / 2
		if sum(middle) > 0 {
			square = middle
		} else {
			high = middle
		}
	}
	by := make([]float64, players)
	slope := 0.0
	for _, d := range of {
		w := d.weight(believed)
		by[d.player] += w * (d.bent(square) - bent)
		slope += w * slopeOfBent * 2 / (2*square + d.shots)
	}
	for _, u := range by {
		variance += u * u
	}
	return square, variance / (slope * slope) * float64(players) / float64(players-1)
}
