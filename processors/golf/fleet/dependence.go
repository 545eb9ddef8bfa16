package fleet

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"
)

// Dependence is how much one step of an attribute does for swings that differ in
// one trait, judged over the range of swings that the fleet has: a slope for one
// standard deviation looks small however much the slow and the fast differ.
type Dependence struct {
	Attribute string `json:"attribute"`
	Trait     string `json:"trait"`
	Step      string `json:"step"`
	// Slope is the change of the effect for one spread of the trait.
	Slope float64 `json:"slope"`
	SE    float64 `json:"slope_se"`
	P     float64 `json:"p"`
	Q     float64 `json:"q"`
	// Span is how much more the step does at the high end than at the low one,
	// in the outcome's own scale. Its verdict is the slope's evidence and the
	// span's size; its way is that of the high end.
	Span     float64 `json:"span"`
	SpanLow  float64 `json:"span_ci_low"`
	SpanHigh float64 `json:"span_ci_high"`
	Verdict
	// Ends are the effect at the trait's 10th percentile, middle and 90th, the
	// other traits at their means.
	Ends [3]Cell `json:"ends"`
	// Turns is where the expected effect changes sign, in the trait's unit; nil
	// where it does not between the 1st and the 99th percentile. Pays says for
	// which side one step is an improvement: above, below, all or none; PaysFor
	// is the share of players that are there.
	Turns   *float64 `json:"turns_at"`
	Pays    string   `json:"pays"`
	PaysFor float64  `json:"pays_share"`

	Players  int `json:"players"`
	Sessions int `json:"sessions"`
}

// The sides of Dependence.Pays.
const (
	PaysAbove, PaysBelow, PaysAll, PaysNone = "above", "below", "all", "none"
)

// decile is how many standard deviations the tenth percentile of a normal trait
// lies below its mean, and reach the first.
const decile, reach = 1.2815515655446004, 2.3263478740408408

// ends are the low and high end of a trait in standard units.
func (d *Design) ends(k int) (low, high float64) {
	if k < len(d.Ends) {
		if e := d.Ends[k]; e[0] < e[1] {
			n := d.narrowing(k) / d.Spread[k]
			return (e[0] - d.Center[k]) * n, (e[1] - d.Center[k]) * n
		}
	}
	return -decile * d.narrowing(k), decile * d.narrowing(k)
}

// Dependences lists how each attribute depends on each trait, in the order of
// the model. Their q is over the whole screen, effects of the average player
// included.
func (a *Answer) Dependences(who Person) ([]Dependence, error) {
	screen, err := a.screen(who)
	if err != nil {
		return nil, err
	}
	return screen.dependences, nil
}

func (a *Answer) dependence(t Estimate, i, k int, who Person, u []float64) (Dependence, bool) {
	attr := a.Design.Attributes[i]
	d := Dependence{Attribute: attr.Name(), Trait: a.Design.Traits[k], Slope: t.Value, SE: t.SE, P: t.P,
		Step:    attr.StepText() + fmt.Sprintf(", per %.3g more %s", a.Design.Spread[k], a.Design.Traits[k]),
		Players: a.Tried[attr.Name()], Sessions: a.Varied[attr.Name()]}
	low, high := a.Design.ends(k)
	crit, _ := a.critical(t.Name)
	d.Span = t.Value * (high - low)
	half := crit * t.SE * (high - low)
	d.SpanLow, d.SpanHigh = d.Span-half, d.Span+half
	for n, z := range []float64{low, (low + high) / 2, high} {
		at := append([]float64(nil), u...)
		at[k] = z
		e, ok := a.step(i, at)
		if !ok {
			return d, false
		}
		d.Ends[n] = Cell{d.Attribute, d.Trait, a.Design.Center[k] + z*a.Design.Spread[k], e}
	}
	a.turn(&d, k, low, high)
	return d, true
}

// turn finds where the expected effect changes sign, and for whom it pays.
func (a *Answer) turn(d *Dependence, k int, low, high float64) {
	good := func(e Effect) float64 { return e.Change * a.Outcome.Better }
	first, last := good(d.Ends[0].Effect), good(d.Ends[2].Effect)
	share := func(z float64) float64 { return distuv.UnitNormal.CDF(z) }
	slope := (last - first) / (high - low)
	z := math.Inf(1)
	if slope != 0 {
		z = low - first/slope
	}
	middle, spread := (low+high)/2, (high-low)/(2*decile)
	switch {
	case math.Abs(z-middle) <= reach*spread && slope > 0:
		d.Turns, d.Pays, d.PaysFor = ref(a.Design.Center[k]+z*a.Design.Spread[k]), PaysAbove, 1-share((z-middle)/spread)
	case math.Abs(z-middle) <= reach*spread:
		d.Turns, d.Pays, d.PaysFor = ref(a.Design.Center[k]+z*a.Design.Spread[k]), PaysBelow, share((z-middle)/spread)
	case first+last > 0:
		d.Pays, d.PaysFor = PaysAll, 1
	default:
		d.Pays = PaysNone
	}
}

// screen is everything that an answer says about builds, judged as one family:
// the steps for a person, and how they depend on the swing.
type screen struct {
	effects     []Effect
	dependences []Dependence
}

func (a *Answer) screen(who Person) (*screen, error) {
	u := make([]float64, len(a.Design.Traits))
	if who.Traits != nil {
		var err error
		if u, err = a.Design.Standard(who.Traits); err != nil {
			return nil, err
		}
	}
	s := &screen{}
	for i := range a.Design.Attributes {
		if e, ok := a.step(i, u); ok {
			e.Choice, e.Hidden = a.choiceOf(e.Attribute), a.reason(e.Change, e.SE)
			s.effects = append(s.effects, e)
		}
	}
	for _, t := range a.Fit.Terms {
		name, trait, product := strings.Cut(t.Name, ":")
		if attr, ok := ParseAttribute(name); ok && product {
			i, k := -1, traitIndexIn(a.Design.Traits, trait)
			for n, have := range a.Design.Attributes {
				if have == attr {
					i = n
				}
			}
			if i >= 0 && k >= 0 {
				if d, ok := a.dependence(t, i, k, who, u); ok {
					s.dependences = append(s.dependences, d)
				}
			}
		}
	}
	var p []float64
	for _, e := range s.effects {
		p = append(p, e.P)
	}
	for _, d := range s.dependences {
		p = append(p, d.P)
	}
	q := BenjaminiHochberg(p)
	for i := range s.effects {
		e := &s.effects[i]
		e.Q, q = q[0], q[1:]
		a.present(e, who)
	}
	for i := range s.dependences {
		d := &s.dependences[i]
		d.Q, q = q[0], q[1:]
		width := math.Abs(d.Span)
		if d.Slope != 0 {
			width = d.Span / d.Slope * d.SE
		}
		_, tail := a.critical(d.Attribute + ":" + d.Trait)
		d.Verdict = judge(a.Outcome, d.Span, width, d.P, d.Q, a.Outcome.Margin, tail)
	}
	// What a step does for a slow or a fast swing is a screen of its own.
	p = p[:0]
	for _, d := range s.dependences {
		for _, c := range d.Ends {
			p = append(p, c.Effect.P)
		}
	}
	for i, q := range BenjaminiHochberg(p) {
		e := &s.dependences[i/3].Ends[i%3].Effect
		e.Q = q
		a.present(e, who)
	}
	return s, nil
}
