package fleet

import (
	"fairlead/ingest/contract/glossary"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mathext"
)

// Outcome is what a question is about: a row of the glossary, with how a trial's
// value of it is computed.
type Outcome struct {
	Name   string
	Title  string
	Log    bool    // a logarithm of a spread: a change c is 100·(eᶜ−1) percent
	Unit   string  // of the outcome, or of what the logarithm is of
	Better float64 // −1: smaller is better, +1: greater
	// Margin is the change below which two builds are practically the same, in
	// the outcome's own scale.
	Margin float64
	value  func(t *Trial, k Noise) (y, v float64, ok bool)
}

// Noise is what must be known of the shots of a whole category before the
// sampling variance of a trial's outcome is known.
type Noise struct {
	// Excess kurtosis of directions and carries as trials of this length show
	// it; 0 is normal.
	DirectionKurtosis, CarryKurtosis float64
	// The mishits among them.
	DirectionMishits, CarryMishits Mishits `json:",omitzero"`
	// Devices are those that add noise of their own; nil: none is known to.
	Devices map[string]Quiet `json:",omitempty"`
	// Pooled variances within trials, for outcomes that are means.
	CarryVariance, WindowVariance float64 // m², window units²
}

// minSpread is the least number of shots that a spread is computed from.
const minSpread = 5

// values compute a trial's outcome and its sampling variance. An outcome of the
// glossary that the fleet is asked about has one; a test says so.
var values = map[glossary.Name]func(t *Trial, k Noise) (y, v float64, ok bool){
	glossary.Direction: func(t *Trial, k Noise) (float64, float64, bool) {
		return k.direction(&t.Shots)
	},
	glossary.DistanceControl: func(t *Trial, k Noise) (float64, float64, bool) {
		return k.control(&t.Shots)
	},
	glossary.Area: func(t *Trial, k Noise) (float64, float64, bool) {
		s := &t.Shots
		det := s.CarrySS*s.OfflineSS - s.CarryOffline*s.CarryOffline
		return k.withoutMishits(s)(logArea(s.N, det, (k.DirectionKurtosis+k.CarryKurtosis)/2))
	},
	glossary.Carry: func(t *Trial, k Noise) (float64, float64, bool) {
		if t.Shots.N < 1 || !(k.CarryVariance > 0) || !finite(t.Shots.Carry) {
			return 0, 0, false
		}
		return t.Shots.Carry, k.CarryVariance / float64(t.Shots.N), true
	},
	glossary.Window: func(t *Trial, k Noise) (float64, float64, bool) {
		if t.Shots.WindowN < 1 || !(k.WindowVariance > 0) || !finite(t.Shots.Window) {
			return 0, 0, false
		}
		return t.Shots.Window, k.WindowVariance / float64(t.Shots.WindowN), true
	},
}

// direction is a trial's ln spread of directions in degrees, and its variance.
func (k Noise) direction(s *Summary) (y, v float64, ok bool) {
	if y, v, ok = k.DirectionMishits.core(s.Directed, s.DirectionSS, s.DirectionS4); ok {
		return y, v, ok
	}
	return logSpread(s.Directed, s.DirectionSS, k.DirectionKurtosis)
}

// control is a trial's ln spread of carries in percent of the mean carry, and its variance.
func (k Noise) control(s *Summary) (y, v float64, ok bool) {
	if !(s.Carry > 0) {
		return 0, 0, false
	}
	if y, v, ok = k.CarryMishits.core(s.N, s.CarrySS, s.CarryS4); ok {
		return y + math.Log(100/s.Carry), v, ok
	}
	return logSpread(s.N, s.CarrySS*1e4/(s.Carry*s.Carry), k.CarryKurtosis)
}

// withoutMishits takes out of an area what mishits add to its two axes, and of its
// variance what they add to theirs.
func (k Noise) withoutMishits(s *Summary) func(y, v float64, ok bool) (float64, float64, bool) {
	return func(y, v float64, ok bool) (float64, float64, bool) {
		var was, now float64
		for _, axis := range []func(Noise, *Summary) (float64, float64, bool){Noise.direction, Noise.control} {
			plain := k
			plain.DirectionMishits, plain.CarryMishits = Mishits{}, Mishits{}
			y0, v0, ok0 := axis(plain, s)
			y1, v1, ok1 := axis(k, s)
			if !ok0 || !ok1 {
				return y, v, ok
			}
			y, was, now = y+y1-y0, was+v0, now+v1
		}
		return y, v * now / was, ok
	}
}

// outcomes are the glossary's rows that can be computed, made once.
var outcomes = sync.OnceValue(func() []Outcome {
	var out []Outcome
	for _, o := range glossary.FleetOutcomes() {
		f := o.Fleet
		row := Outcome{Name: f.Name, Title: f.Title, Log: o.Tightness(), Unit: f.Of, Better: f.Sign, Margin: f.Margin, value: values[o.Name]}
		if row.Log {
			row.Margin = math.Log1p(f.Percent / 100)
		}
		out = append(out, row)
	}
	return out
})

// Outcomes lists what the fleet may be asked about. Which of them is primary for
// a category is decided before the first shot: see Primary.
func Outcomes() []Outcome { return slices.Clone(outcomes()) }

// FindOutcome finds an outcome by its name in the fleet, or in verdicts.
func FindOutcome(name string) (Outcome, bool) {
	if o, ok := glossary.Find(name); ok && o.Fleet != nil {
		for _, row := range outcomes() {
			if row.Name == o.Fleet.Name {
				return row, true
			}
		}
	}
	return Outcome{}, false
}

// OutcomeWords lists the names for an error: direction, …, carry or window.
func OutcomeWords() string {
	text := ""
	for i, o := range outcomes() {
		switch {
		case i == len(outcomes())-1 && i > 0:
			text += " or "
		case i > 0:
			text += ", "
		}
		text += o.Name
	}
	return text
}

// Primary names the outcomes that a category is judged by, the most important
// first.
func Primary(category glossary.Category) []string {
	var out []string
	for _, o := range category.Primary() {
		if o.Asked(category) {
			out = append(out, o.Fleet.Name)
		}
	}
	return out
}

// Value returns a trial's outcome and its sampling variance; ok is false where
// the trial has too few shots for it.
func (o Outcome) Value(t *Trial, k Noise) (y, v float64, ok bool) {
	y, v, ok = o.value(t, k)
	return y, v, ok && finite(y) && finite(v) && v > 0
}

// Variance is the sampling variance of a trial of n shots, for planning. It is 0
// where the noise of single shots is not known, and for fewer than five shots.
func (o Outcome) Variance(n int, k Noise) float64 {
	if n < minSpread {
		return 0
	}
	// Any sums do: the variance of these outcomes depends on n alone.
	t := Trial{Shots: Summary{N: n, Directed: n, WindowN: n, Carry: 1, CarrySS: 1, OfflineSS: 1, DirectionSS: 1}}
	_, v, ok := o.Value(&t, k)
	if !ok {
		return 0
	}
	return v
}

// Percent turns a change of a logarithmic outcome into percent.
func (o Outcome) Percent(change float64) float64 { return 100 * math.Expm1(change) }

// logSpread is ln of the standard deviation of one axis without bias,
// ½ln(Σr²/2) − ½ψ((n−1)/2), and its variance ¼ψ′((n−1)/2), exact for normal
// shots. Heavier tails make a spread less certain: Var(ln s) tends to
// (2 + γ)/(4n) with the excess kurtosis γ, so the variance is multiplied with
// 1 + ½γ·tailShare(n).
func logSpread(n int, ss, kurtosis float64) (y, v float64, ok bool) {
	if n < minSpread || !(ss > 0) {
		return 0, 0, false
	}
	psi, psi1 := polygamma(n - 1)
	y = 0.5*math.Log(ss/2) - 0.5*psi
	v = 0.25 * psi1 * max(0.5, 1+0.5*kurtosis*tailShare(float64(n)))
	return y, v, true
}

// logArea is ln|Σ|^½ of two axes without bias, ½ln|A| − ψ(n−2), with variance
// ψ′(n−2) (Anderson 2003 §7.5). For elliptical shots of marginal excess kurtosis
// γ the asymptotic variance grows by 1 + ⅔γ (Tyler, Biometrika 69:429, 1982).
func logArea(n int, det, kurtosis float64) (y, v float64, ok bool) {
	if n < minSpread || !(det > 0) {
		return 0, 0, false
	}
	psi, psi1 := polygamma(2 * (n - 2))
	// 2√(|A|/|Σ|) is χ² with 2n−4 degrees, whose logarithm has mean ψ(n−2) + ln 2.
	y = 0.5*math.Log(det) - psi
	v = psi1 * max(0.5, 1+2*kurtosis/3*tailShare(float64(n)))
	return y, v, true
}

// polygamma is ψ and ψ′ at half of n. Of the few that trials have they are
// computed once: of a million trials they would cost more than the fit.
func polygamma(n int) (psi, psi1 float64) {
	if few := fewPolygammas(); n > 0 && n < len(few) {
		return few[n][0], few[n][1]
	}
	return mathext.Digamma(float64(n) / 2), trigamma(float64(n) / 2)
}

var fewPolygammas = sync.OnceValue(func() *[256][2]float64 {
	var few [256][2]float64
	for n := 1; n < len(few); n++ {
		few[n] = [2]float64{mathext.Digamma(float64(n) / 2), trigamma(float64(n) / 2)}
	}
	return &few
})

// trigamma is ψ′, the Hurwitz zeta function at 2.
func trigamma(x float64) float64 { return mathext.Zeta(2, x) }
