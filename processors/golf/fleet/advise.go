package fleet

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// Candidate is a build that could be tried.
type Candidate struct {
	Build      string
	Attributes [AttributeCount]float64
}

// PlayerState is what is known of the player who asks.
type PlayerState struct {
	Traits    map[string]float64 // handed, by name
	Incumbent [AttributeCount]float64
	Trials    []Trial // hit so far, oldest first; may be empty
	// Player, if the answer was fitted with this player's earlier trials: they
	// then count already, and Trials must hold later ones only.
	Player string
}

// Advice is one candidate, ranked.
type Advice struct {
	Build string `json:"build"`
	// Gain is the expected improvement over the incumbent in the outcome's own
	// scale, positive is better, with the interval for this player.
	Gain     float64 `json:"gain"`
	GainLow  float64 `json:"gain_low"`
	GainHigh float64 `json:"gain_high"`
	// Percent is the change of the spread, for logarithmic outcomes.
	Percent *float64 `json:"percent,omitempty"`
	// Better is the chance that it is better than the incumbent at all.
	Better float64 `json:"chance_better"`
	// Carry is what it does to carry in metres, if a carry answer was given.
	Carry     *float64 `json:"carry_change_m,omitempty"`
	CarryLow  *float64 `json:"carry_low_m,omitempty"`
	CarryHigh *float64 `json:"carry_high_m,omitempty"`
	// Learn is how much better, on average, the final choice becomes by trying
	// this next: the value of the information, in the outcome's scale.
	Learn float64 `json:"worth_trying"`
	// Try is 1, 2 or 3 for the trials worth hitting first, else 0.
	Try int `json:"try,omitempty"`
	// Evidence is what the advice rests on.
	Evidence []string `json:"evidence"`
	// Within the margin of the incumbent whatever is true.
	Same bool `json:"practically_same"`
}

// AdviceOptions: the shots of a trial that would be hit (0 means 10), and the
// level of the intervals (0 means 0.95).
type AdviceOptions struct {
	Shots int
	Level float64
}

// Advise ranks candidates for one player by expected gain in the answer's
// outcome. carry, which may be nil, is an answer for the outcome carry and
// says what each would cost. The builds differ from the incumbent by their
// attributes only; what an unknown attribute does is not known here.
func Advise(a, carry *Answer, p PlayerState, candidates []Candidate, o AdviceOptions) ([]Advice, error) {
	if len(candidates) == 0 {
		return nil, fmt.Errorf("no candidate builds: name at least one")
	}
	if o.Shots == 0 {
		o.Shots = 10
	}
	if o.Level == 0 {
		o.Level = 0.95
	}
	if o.Shots < minSpread || !(o.Level > 0 && o.Level < 1) {
		return nil, fmt.Errorf("%d shots at level %v: at least %d shots, and a level between 0 and 1", o.Shots, o.Level, minSpread)
	}
	belief, own, err := a.belief(p)
	if err != nil {
		return nil, err
	}
	var carryBelief *Belief
	if carry != nil {
		if carryBelief, _, err = carry.belief(p); err != nil {
			return nil, fmt.Errorf("carry: %w", err)
		}
	}
	z := distuv.UnitNormal.Quantile(0.5 + o.Level/2)
	out := make([]Advice, len(candidates))
	deltas := make([][]float64, len(candidates))
	for i, c := range candidates {
		delta, err := a.Design.change(p.Incumbent, c.Attributes)
		if err != nil {
			return nil, fmt.Errorf("build %q: %w", c.Build, err)
		}
		deltas[i] = delta
		mean, v := belief.Change(delta)
		sd := math.Sqrt(v)
		g := Advice{Build: c.Build, Gain: mean * a.Outcome.Better, Evidence: a.evidence(delta, own)}
		g.GainLow, g.GainHigh = g.Gain-z*sd, g.Gain+z*sd
		g.Same = g.GainLow > -a.Outcome.Margin && g.GainHigh < a.Outcome.Margin
		if a.Outcome.Log {
			g.Percent = ref(a.Outcome.Percent(mean))
		}
		switch {
		case sd > 0:
			g.Better = distuv.UnitNormal.CDF(g.Gain / sd)
		case g.Gain > 0:
			g.Better = 1
		}
		if carryBelief != nil {
			d, err := carry.Design.change(p.Incumbent, c.Attributes)
			if err != nil {
				return nil, fmt.Errorf("build %q, carry: %w", c.Build, err)
			}
			m, v := carryBelief.Change(d)
			g.Carry, g.CarryLow, g.CarryHigh = ref(m), ref(m-z*math.Sqrt(v)), ref(m+z*math.Sqrt(v))
		}
		out[i] = g
	}
	a.suggest(belief, deltas, out, o.Shots)
	sort.SliceStable(out, func(i, k int) bool { return out[i].Gain > out[k].Gain })
	return out, nil
}

// change is the row of a build less that of another.
func (d *Design) change(from, to [AttributeCount]float64) ([]float64, error) {
	a, err := d.Columns(from)
	if err != nil {
		return nil, fmt.Errorf("incumbent: %w", err)
	}
	b, err := d.Columns(to)
	if err != nil {
		return nil, err
	}
	for i := range b {
		b[i] -= a[i]
	}
	return b, nil
}

// belief is what the fleet, the player's traits and own trials say together.
// It also returns how many own trials counted.
func (a *Answer) belief(p PlayerState) (*Belief, int, error) {
	var b *Belief
	var err error
	if p.Player != "" {
		b, err = a.Fit.Own(p.Player)
	} else {
		var u []float64
		if u, err = a.Design.Standard(p.Traits); err == nil {
			b, err = a.Prior.Newcomer(u)
		}
	}
	if err != nil {
		return nil, 0, err
	}
	rows, err := a.rows(p.Trials)
	if err != nil {
		return nil, 0, err
	}
	if len(rows) == 0 {
		return b, 0, nil
	}
	b, err = b.Learn(rows)
	return b, len(rows), err
}

// rows reads a player's own trials as the answer's design does.
func (a *Answer) rows(trials []Trial) ([]Row, error) {
	type key struct {
		session string
		level   int
	}
	number := map[key]int{}
	var rows []Row
	levels := map[int][]int{} // rows of a level
	var of []*Trial
	for i := range trials {
		t := &trials[i]
		y, v, ok := a.Outcome.Value(t, a.Noise)
		if !ok {
			continue
		}
		cols, err := a.Design.Columns(t.Attributes)
		if err != nil {
			return nil, fmt.Errorf("own trial %d: %w", i+1, err)
		}
		if a.Design.Order {
			var before *Trial
			if i > 0 && trials[i-1].Session == t.Session {
				before = &trials[i-1]
			}
			ord := a.Design.OrderColumns(t, before)
			copy(cols[len(cols)-3:], ord[:])
		}
		k := key{t.Session, t.Level}
		if _, ok := number[k]; !ok {
			number[k] = len(number)
		}
		levels[number[k]] = append(levels[number[k]], len(rows))
		of = append(of, t)
		rows = append(rows, Row{number[k], y, v, cols})
	}
	for _, at := range levels {
		level := make([]gauged, len(at))
		for i, r := range at {
			level[i] = gauged{of[r], &rows[r].Y, &rows[r].V}
		}
		a.Noise.steady(a.Outcome, level)
	}
	return rows, nil
}

// evidence says what a change of build rests on.
func (a *Answer) evidence(delta []float64, own int) []string {
	var out []string
	for i, at := range a.Design.Attributes {
		if delta[i] == 0 {
			continue
		}
		out = append(out, fmt.Sprintf("%s %+.3g steps (%s): %d players tried it at two values under equal circumstances, in %d levels", at.Name(),
			delta[i], at.StepText(), a.Tried[at.Name()], a.Varied[at.Name()]))
	}
	if len(out) == 0 {
		out = append(out, "its known attributes are those of the incumbent: the fleet has nothing to say about the rest")
	}
	if own > 0 {
		out = append(out, fmt.Sprintf("%d own trials", own))
	}
	return out
}

// suggest marks up to three candidates worth hitting first. A trial of a
// candidate, with the incumbent hit again beside it, moves the belief about all
// candidates at once; its worth is how much better the best choice becomes on
// average (the knowledge gradient for correlated beliefs: Frazier, Powell &
// Dayanik, INFORMS J. Comput. 21:599, 2009). The next is chosen as if the first
// had been hit.
func (a *Answer) suggest(b *Belief, deltas [][]float64, out []Advice, shots int) {
	n := len(deltas)
	mu, cov := make([]float64, n+1), square(n+1) // the last is the incumbent: no change
	for i := range deltas {
		mu[i] = out[i].Gain
		for k := range deltas {
			cov[i][k] = bilinear(deltas[i], b.Cov, deltas[k])
		}
	}
	noise := 2 * (b.Tau2 + a.Outcome.Variance(shots, a.Noise))
	taken := make([]bool, n)
	for round := 1; round <= min(3, n); round++ {
		best, worth := -1, 0.0
		for i := range n {
			if taken[i] {
				continue
			}
			w := knowledgeGradient(mu, scaled(cov, i, noise))
			if round == 1 {
				out[i].Learn = w
			}
			if best < 0 || w > worth || (w == worth && mu[i] > mu[best]) {
				best, worth = i, w
			}
		}
		if best < 0 || worth <= 1e-12 {
			return
		}
		taken[best] = true
		out[best].Try = round
		s := scaled(cov, best, noise)
		for i := range cov {
			for k := range cov {
				cov[i][k] -= s[i] * s[k]
			}
		}
	}
}

// scaled is how far each mean would move, per standard deviation of surprise,
// if candidate i were tried.
func scaled(cov [][]float64, i int, noise float64) []float64 {
	s := make([]float64, len(cov))
	total := cov[i][i] + noise
	if total <= 0 {
		return s
	}
	for k := range s {
		s[k] = cov[k][i] / math.Sqrt(total)
	}
	return s
}

// knowledgeGradient is E max(μ + s·Z) − max μ for a standard normal Z: the
// upper envelope of the lines, piece by piece.
func knowledgeGradient(mu, s []float64) float64 {
	type line struct{ a, b float64 }
	lines := make([]line, len(mu))
	top := math.Inf(-1)
	for i := range mu {
		lines[i] = line{mu[i], s[i]}
		top = max(top, mu[i])
	}
	slices.SortFunc(lines, func(x, y line) int {
		switch {
		case x.b != y.b:
			if x.b < y.b {
				return -1
			}
			return 1
		case x.a < y.a:
			return -1
		case x.a > y.a:
			return 1
		}
		return 0
	})
	var hull []line
	var from []float64 // from which z on the line is on top
	for i, l := range lines {
		if i+1 < len(lines) && lines[i+1].b == l.b {
			continue // a parallel line above it
		}
		z := math.Inf(-1)
		for len(hull) > 0 {
			last := hull[len(hull)-1]
			z = (last.a - l.a) / (l.b - last.b)
			if z > from[len(from)-1] {
				break
			}
			hull, from = hull[:len(hull)-1], from[:len(from)-1]
			z = math.Inf(-1)
		}
		hull, from = append(hull, l), append(from, z)
	}
	total := 0.0
	for i := 1; i < len(hull); i++ {
		c := -math.Abs(from[i])
		total += (hull[i].b - hull[i-1].b) * (c*distuv.UnitNormal.CDF(c) + distuv.UnitNormal.Prob(c))
	}
	return max(total, 0)
}
