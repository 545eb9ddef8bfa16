package fleet

import (
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"
)

// Person is whom an effect is shown for: the yards are the same percent at
// this player's carry and spread.
type Person struct {
	Traits map[string]float64 // handed, by name; nil: the average player
	Carry  float64            // m; 0: that of the trials asked about
	Spread float64            // the outcome's standard deviation now: deg or % of carry; 0: as for carry
}

// Effect is one row of an effects report.
type Effect struct {
	Term      string `json:"term"`
	Attribute string `json:"attribute,omitempty"`
	Trait     string `json:"trait,omitempty"` // the term's effect grows with this trait
	Step      string `json:"step"`            // what one unit of the effect is
	// Change for one step in the outcome's own scale (a logarithm, or its unit),
	// with its interval and the interval for the next player. For an attribute
	// it is the change from the reference build by one step, curvature included.
	Change float64  `json:"change"`
	SE     float64  `json:"se"`
	Low    float64  `json:"ci_low"`
	High   float64  `json:"ci_high"`
	PILow  *float64 `json:"pi_low"`
	PIHigh *float64 `json:"pi_high"`
	P      float64  `json:"p"`
	// Q is p adjusted for false discoveries over all attributes and their traits.
	Q float64 `json:"q"`
	// Percent, for outcomes on a logarithmic scale.
	Percent     *float64 `json:"percent,omitempty"`
	PercentLow  *float64 `json:"percent_low,omitempty"`
	PercentHigh *float64 `json:"percent_high,omitempty"`
	// Metres at the person's carry: the width or depth of the pattern changes by
	// this much (one standard deviation); the carry itself for carry.
	Metres     *float64 `json:"change_m,omitempty"`
	MetresLow  *float64 `json:"change_low_m,omitempty"`
	MetresHigh *float64 `json:"change_high_m,omitempty"`
	// Gain is the share of players for whom one step is an improvement.
	Gain     *float64 `json:"share_gain,omitempty"`
	Players  int      `json:"players"`  // who hit it at two values under equal circumstances
	Sessions int      `json:"sessions"` // levels in which they did
	Verdict
	// Choice holds what was drawn by lot against what was chosen; nil where too few
	// drew. ByLot: the two differ, and the change is the lot's word.
	Choice *Contrast `json:"choice,omitempty"`
	ByLot  bool      `json:"by_lot,omitempty"`
	// Hidden is how strong a reason that nobody noted would have to be to explain the
	// change away, a share: see Answer.reason. Of attributes alone, as Choice.
	Hidden *float64 `json:"hidden_reason,omitempty"`
}

// FalseDiscovery is the rate at which a screen calls an effect a finding.
const FalseDiscovery = 0.10

// Effects is the answer as people read it, for one person or the average
// player: attributes first, then how each depends on the traits for one spread
// of the trait more, then curvature and order. All that is said about builds is
// one family for Q; order is not a discovery.
func (a *Answer) Effects(who Person) ([]Effect, error) {
	s, err := a.screen(who)
	if err != nil {
		return nil, err
	}
	out := s.effects
	for _, d := range s.dependences {
		e := Effect{Term: d.Attribute + ":" + d.Trait, Attribute: d.Attribute, Trait: d.Trait, Step: d.Step, Change: d.Slope, SE: d.SE,
			P: d.P, Q: d.Q, Players: d.Players, Sessions: d.Sessions}
		crit, _ := a.critical(e.Term)
		e.Low, e.High = d.Slope-crit*d.SE, d.Slope+crit*d.SE
		a.scale(&e, who)
		e.Verdict = d.Verdict // of the whole range: a slope alone has no size
		out = append(out, e)
	}
	for _, t := range a.Fit.Terms {
		name, _, product := strings.Cut(t.Name, ":")
		if _, is := ParseAttribute(name); is || product {
			continue
		}
		e := Effect{Term: t.Name, Step: orderText(t.Name), Change: t.Value, SE: t.SE, Low: t.CILow, High: t.CIHigh, PILow: t.PILow,
			PIHigh: t.PIHigh,
			P:      t.P, Q: t.P, Players: a.Tried[name], Sessions: a.Varied[name]}
		a.present(&e, who)
		out = append(out, e)
	}
	return out, nil
}

// step is the effect of one step of the i-th attribute from the reference, at
// standard traits u.
func (a *Answer) step(i int, u []float64) (Effect, bool) {
	attr := a.Design.Attributes[i]
	delta := make([]float64, a.Design.width())
	delta[i] = 1
	for k, c := range a.Design.Curved {
		if c == attr {
			delta[len(a.Design.Attributes)+k] = 1
		}
	}
	w := a.contrast(delta, u)
	any := false
	for _, x := range w {
		any = any || x != 0
	}
	if !any {
		return Effect{}, false
	}
	e := Effect{Term: attr.Name(), Attribute: attr.Name(), Step: attr.StepText(), Players: a.Tried[attr.Name()],
		Sessions: a.Varied[attr.Name()]}
	for k, t := range a.Fit.Terms {
		e.Change += w[k] * t.Value
	}
	v := bilinear(w, a.Prior.Cov, w)
	if c := a.chosenFor(e.Attribute); c != nil {
		// How the step depends on the swing stays the model's; its height is the lot's.
		e.ByLot = true
		e.Change += c.Shift
		v = max(v, c.Lot.SE*c.Lot.SE)
	}
	e.SE = math.Sqrt(max(v, 0))
	crit, tail := a.critical(e.Term)
	e.Low, e.High = e.Change-crit*e.SE, e.Change+crit*e.SE
	if e.SE > 0 {
		e.P = tail(e.Change / e.SE)
	} else {
		e.P = 1
	}
	own, varies := 0.0, false
	for k, c := range a.Prior.Model.Random {
		if c == i {
			own, varies = a.Prior.G[k][k], true
		}
	}
	if varies {
		half := crit * math.Sqrt(v+own)
		lo, hi := e.Change-half, e.Change+half
		e.PILow, e.PIHigh = &lo, &hi
	}
	// Share of players who gain: over traits where none are given.
	spread := own
	if isZero(u) {
		b := make([]float64, len(a.Design.Traits))
		for _, t := range a.Fit.Terms {
			if n, trait, ok := strings.Cut(t.Name, ":"); ok && n == attr.Name() {
				b[traitIndexIn(a.Design.Traits, trait)] = t.Value
			}
		}
		spread += bilinear(b, a.Design.TraitCov, b)
	}
	g := 0.5
	switch good := e.Change * a.Outcome.Better; {
	case spread > 0:
		g = distuv.UnitNormal.CDF(good / math.Sqrt(spread))
	case good > 0:
		g = 1
	case good < 0:
		g = 0
	}
	e.Gain = &g
	return e, true
}

// Cell is one cell of a map of effects: one step of an attribute for players
// who differ in one trait.
type Cell struct {
	Attribute string  `json:"attribute"`
	Trait     string  `json:"trait"`
	At        float64 `json:"at"` // the trait's value, in its own unit
	Effect    Effect  `json:"effect"`
}

// Map lays one step of every attribute over a trait's range, at the given
// distances from its mean in standard deviations, the other traits at their
// means.
func (a *Answer) Map(trait string, at []float64) ([]Cell, error) {
	k := traitIndexIn(a.Design.Traits, trait)
	if k < 0 {
		return nil, &UnknownError{trait}
	}
	var out []Cell
	for i := range a.Design.Attributes {
		for _, z := range at {
			u := make([]float64, len(a.Design.Traits))
			u[k] = z
			e, ok := a.step(i, u)
			if !ok {
				continue
			}
			e.Q = e.P // a picture, not a screen
			a.present(&e, Person{})
			out = append(out, Cell{e.Attribute, trait, a.Design.Center[k] + z*a.Design.Spread[k], e})
		}
	}
	return out, nil
}

// contrast turns a change of columns, at standard traits u, into weights of
// the fit's terms.
func (a *Answer) contrast(delta, u []float64) []float64 {
	w := make([]float64, len(a.Fit.Terms))
	for k, t := range a.Prior.Model.Terms {
		w[k] = delta[t.Column]
		if t.Moderator >= 0 {
			w[k] *= u[t.Moderator]
		}
	}
	return w
}

// present adds percent and metres, and judges the effect by its Q.
func (a *Answer) present(e *Effect, who Person) {
	a.scale(e, who)
	_, tail := a.critical(e.Term)
	e.Verdict = judge(a.Outcome, e.Change, e.SE, e.P, e.Q, a.Outcome.Margin, tail)
}

// Judge says of an effect what it amounts to under another adjusted p, where it
// is part of another screen.
func (a *Answer) Judge(e *Effect, q float64) {
	_, tail := a.critical(e.Term)
	e.Q, e.Verdict = q, judge(a.Outcome, e.Change, e.SE, e.P, q, a.Outcome.Margin, tail)
}

// scale adds percent and metres: at the person's carry and spread, or at those
// that the asked trials have on average.
func (a *Answer) scale(e *Effect, who Person) {
	if who.Carry == 0 {
		who.Carry = a.Typical.Carry
	}
	if who.Spread == 0 {
		who.Spread = a.Typical.Spread
	}
	if a.Outcome.Log {
		e.Percent = ref(a.Outcome.Percent(e.Change))
		e.PercentLow, e.PercentHigh = ref(a.Outcome.Percent(e.Low)), ref(a.Outcome.Percent(e.High))
		if one := sigmaMetres(a.Outcome, who); one > 0 {
			e.Metres = ref(one * *e.Percent / 100)
			e.MetresLow, e.MetresHigh = ref(one**e.PercentLow/100), ref(one**e.PercentHigh/100)
		}
	} else if a.Outcome.Unit == "m" {
		e.Metres, e.MetresLow, e.MetresHigh = ref(e.Change), ref(e.Low), ref(e.High)
	}
}

// sigmaMetres is one standard deviation of the person's pattern in metres.
func sigmaMetres(o Outcome, who Person) float64 {
	switch o.Unit {
	case "deg":
		return who.Carry * math.Tan(who.Spread*math.Pi/180)
	case "%":
		return who.Carry * who.Spread / 100
	}
	return 0
}

func orderText(name string) string {
	switch name {
	case warmUp:
		return "cold against warm"
	case fatigue:
		return "thirty shots later in the session"
	case swap:
		return "one step further from the build hit just before"
	}
	if attr, ok := ParseAttribute(strings.TrimSuffix(name, "_curve")); ok {
		return "curvature: the square of (" + attr.StepText() + ") from the reference"
	}
	return name
}

func traitIndexIn(traits []string, name string) int {
	for i, t := range traits {
		if t == name {
			return i
		}
	}
	return -1
}

func isZero(u []float64) bool {
	for _, x := range u {
		if x != 0 {
			return false
		}
	}
	return true
}

func ref(x float64) *float64 {
	if !finite(x) {
		return nil
	}
	return &x
}
