package fleet

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// The ways on which a build may change a spread, in the order in which they are told.
const (
	ThroughStrike   = "strike"
	ThroughSpeed    = "speed"
	ThroughDelivery = "delivery"
)

// Ways are all of them.
var Ways = []string{ThroughStrike, ThroughSpeed, ThroughDelivery}

// mediator is a figure of a trial that lies on a way: what happened in it, not what the
// player is like. Spreads are logarithms of standard deviations.
type mediator struct {
	way, name string
	of        func(i *Impact) (x float64, ok bool)
	spread    bool
}

var mediators = []mediator{
	{ThroughStrike, "scatter of the strike", func(i *Impact) (float64, bool) {
		// Two axes: the mean variance of both.
		return 0.5 * math.Log(i.StrikeSS/(2*float64(i.StrikeN-1))), i.StrikeN >= minSpread && i.StrikeSS > 0
	}, true},
	{ThroughSpeed, "clubhead speed", func(i *Impact) (float64, bool) { return i.Speed, i.SpeedN >= minSpread && i.Speed > 0 }, false},
	{ThroughSpeed, "scatter of clubhead speed", func(i *Impact) (float64, bool) { return lnSD(i.SpeedN, i.SpeedSS) }, true},
	{ThroughDelivery, "scatter of face to path", func(i *Impact) (float64, bool) { return lnSD(i.FaceN, i.FaceSS) }, true},
	{ThroughDelivery, "scatter of club path", func(i *Impact) (float64, bool) { return lnSD(i.PathN, i.PathSS) }, true},
}

func lnSD(n int, ss float64) (float64, bool) {
	return 0.5 * math.Log(ss/float64(n-1)), n >= minSpread && ss > 0
}

// Part is what goes on one way: a change of the outcome for one step in its own scale,
// with its standard error and interval, and its share of the whole, which there is where
// the whole is surely something. A share may be negative, or above 1, where ways go
// against each other.
type Part struct {
	Change    float64  `json:"change"`
	SE        float64  `json:"se"`
	Low       float64  `json:"ci_low"`
	High      float64  `json:"ci_high"`
	Share     *float64 `json:"share"`
	ShareLow  *float64 `json:"share_ci_low"`
	ShareHigh *float64 `json:"share_ci_high"`
}

// Through is how much of one step of an attribute goes on each way, and what is left.
type Through struct {
	Attribute string          `json:"attribute"`
	Step      string          `json:"step"`
	Whole     Part            `json:"whole"`
	Ways      map[string]Part `json:"ways"`
	Left      Part            `json:"left"`
	Players   int             `json:"players"` // who hit it at two values under equal circumstances
}

// Passage is an answer of ThroughWays.
type Passage struct {
	Through []Through
	Known   []string // the ways that enough trials measured
	Notes   []string
	Trials  int // that count
}

// Of trials of n shots, what a spread on the way does to the outcome's comes out too small
// by fewShots/n, with fewShotsSD/n of doubt: logarithms of sums in which the parts meet by
// chance bend (2 and 5 % at twelve shots, 0 and 1 % at sixty, where two parts make half
// and a third of the outcome's variance).
const fewShots, fewShotsSD = 0.4, 0.25

// passageDraws is how often the parts are drawn for their intervals.
const passageDraws = 4000

// passing is a row: a trial with what lay on its ways.
type passing struct {
	player, session string
	level, shots    int
	y               float64
	cols, on        []float64
	shared          []int32
}

// ThroughWays takes an effect on a spread apart: with a the change of a figure on the
// way for one step, b the change of the outcome for one unit of that figure at equal
// build, a·b goes through it; what the build does at equal figures is left (Baron & Kenny,
// J. Pers. Soc. Psychol. 51:1173, 1986; the product's interval by drawing a and b from
// their estimates, MacKinnon, Lockwood & Williams, Multivar. Behav. Res. 39:99, 2004).
// Builds, levels, order, slopes by player and what players share are as in the standard
// model, the swing's products and the bends left out: a step is the mean one of those that
// were tried, up and down, since a way that bends would be taken for what is left. A figure is what happened in the trial's own
// shots, so that it needs no correction for how few they were: the strikes that were made
// are those that moved the balls.
//
// That b is what the figure does, and not what comes with it, is an assumption that no
// trial here tests: whoever has a bad minute strikes worse and aims worse, and the strike
// gets the blame for both. Spreads alone are taken apart: other outcomes are refused with
// a *ModelError.
func ThroughWays(ctx context.Context, trials []Trial, q Question) (*Passage, error) {
	o, ok := FindOutcome(q.Outcome)
	if !ok || !o.Log {
		return nil, &ModelError{Kind: NotEnough, Terms: []string{TooLittle},
			Reason: q.Outcome + " is no spread, and only spreads are taken apart",
			Try:    "ask about a spread: direction, carry_control or area"}
	}
	q.Traits, q.NoCurvature = []string{}, true
	order := hitOrder(trials)
	var look Survey
	for _, i := range order {
		look.Add(&trials[i])
	}
	d, _, err := look.Design(q)
	if err != nil {
		return nil, err
	}
	out := &Passage{}
	on := out.measured(trials)
	if len(on) == 0 {
		return nil, &ModelError{Kind: NotEnough, Terms: []string{TooLittle}, Reason: "no way is measured in four fifths of the trials",
			Try: "ask of bays whose devices measure strike, clubhead speed, face and path"}
	}
	rows := passings(trials, order, d, o, look.Noise(q), on)
	out.Trials = len(rows)
	how := Options{Test: KnappHartung, Level: q.Level, Workers: q.Workers}
	fit := func(outcome func(*passing) float64, beside bool) (*Fit, error) {
		m := d.model(q)
		m.Compact, m.Variance = false, Estimated
		if beside {
			for _, x := range on {
				m.Terms = append(m.Terms, Term{x.name, len(m.Columns), -1})
				m.Columns = append(m.Columns, x.name)
			}
		}
		data, err := passingData(rows, m, outcome, beside)
		if err != nil {
			return nil, err
		}
		return data.fitWhatVaries(ctx, how)
	}
	with, err := fit(func(r *passing) float64 { return r.y }, true)
	if err != nil {
		return nil, err
	}
	moved := make([]*Fit, len(on))
	for k := range on {
		if moved[k], err = fit(func(r *passing) float64 { return r.on[k] }, false); err != nil {
			return nil, fmt.Errorf("%s: %w", on[k].name, err)
		}
	}
	together, few := correlations(rows, len(on)), 0.0
	for i := range rows {
		few += 1 / (float64(rows[i].shots) * float64(len(rows)))
	}
	level := q.Level
	if level == 0 {
		level = 0.95
	}
	for _, a := range d.Attributes {
		t, ok := passage(a, on, with, moved, together, few, level)
		if t.Players = varied(rows, slices.Index(d.Attributes, a)); ok && t.Players >= minPlayers {
			out.Through = append(out.Through, t)
		} else {
			out.Notes = append(out.Notes, fmt.Sprintf("%s: %d players hit two values of it with all of that measured, of whom it takes %d",
				a.StepText(), t.Players, minPlayers))
		}
	}
	if len(out.Through) == 0 {
		return nil, &ModelError{Kind: NotEnough, Terms: []string{TooLittle},
			Reason: fmt.Sprintf("no attribute was varied by %d players in trials that measure what lies on the way", minPlayers),
			Try:    "widen the filters"}
	}
	return out, nil
}

// measured are the figures that four fifths of the trials have; of ways that have none it
// says so.
func (p *Passage) measured(trials []Trial) (on []mediator) {
	for _, way := range Ways {
		had := len(on)
		for _, m := range mediators {
			if m.way != way {
				continue
			}
			n := 0
			for i := range trials {
				if _, ok := m.of(&trials[i].Impact); ok {
					n++
				}
			}
			if float64(n) >= knownEnough*float64(len(trials)) && n > 0 {
				on = append(on, m)
			} else {
				p.Notes = append(p.Notes, fmt.Sprintf("%s is measured in %d of %d trials, too few: what goes through it is in what is left", m.name, n,
					len(trials)))
			}
		}
		if len(on) > had {
			p.Known = append(p.Known, way)
		}
	}
	return on
}

// passings are the trials that have everything.
func passings(trials []Trial, order []int, d *Design, o Outcome, noise Noise, on []mediator) (rows []passing) {
	shared := newReader(d.Shared)
	var before *Trial
	width := d.width()
	for _, i := range order {
		t := &trials[i]
		if before != nil && (before.Player != t.Player || before.Session != t.Session) {
			before = nil
		}
		r := passing{player: t.Player, session: t.Session, level: t.Level, shots: t.Shots.N, cols: make([]float64, width)}
		var ok bool
		if r.y, _, ok = o.Value(t, noise); !ok || d.fill(r.cols, t.Attributes) != nil {
			continue
		}
		if d.Order {
			w := d.OrderColumns(t, before)
			copy(r.cols[width-3:], w[:])
		}
		before = t
		for _, m := range on {
			x, known := m.of(&t.Impact)
			ok = ok && known
			r.on = append(r.on, x)
		}
		if ok {
			r.shared = slices.Clone(shared.read(t))
			rows = append(rows, r)
		}
	}
	return rows
}

// passingData makes rows of an outcome, with the figures on the way beside or without.
func passingData(rows []passing, m Model, outcome func(*passing) float64, beside bool) (*Data, error) {
	b, err := NewBuilder(m)
	if err != nil {
		return nil, err
	}
	var last *passing
	for i := range rows {
		r := &rows[i]
		if last == nil || last.player != r.player {
			if err := b.Player(r.player, nil); err != nil {
				return nil, err
			}
		}
		if last == nil || last.player != r.player || last.session != r.session || last.level != r.level {
			if err := b.Session(0); err != nil {
				return nil, err
			}
		}
		last = r
		cols := r.cols
		if beside {
			cols = slices.Concat(r.cols, r.on)
		}
		if err := b.Row(outcome(r), 0, cols, r.shared...); err != nil {
			return nil, err
		}
	}
	if last == nil {
		return nil, &ModelError{Kind: NotEnough, Terms: []string{TooLittle}, Reason: "no trial has its build and what lies on the way measured",
			Try: "widen the filters"}
	}
	return b.Data(), nil
}

// varied counts the players who hit a column at two values within a level.
func varied(rows []passing, column int) int {
	players := map[string]bool{}
	for i := 1; i < len(rows); i++ {
		a, b := &rows[i-1], &rows[i]
		if a.player == b.player && a.session == b.session && a.level == b.level && math.Abs(a.cols[column]-b.cols[column]) > 1e-9 {
			players[b.player] = true
		}
	}
	return len(players)
}

// correlations are those of the figures within levels: changes that a step makes of two
// figures are estimated from the same shots, and are off together.
func correlations(rows []passing, n int) *mat.SymDense {
	var apart []float64 // rows × n
	for i := 0; i < len(rows); {
		k := i + 1
		for k < len(rows) && rows[k].player == rows[i].player && rows[k].session == rows[i].session && rows[k].level == rows[i].level {
			k++
		}
		for _, r := range rows[i:k] {
			for m := range n {
				mean := 0.0
				for _, other := range rows[i:k] {
					mean += other.on[m] / float64(k-i)
				}
				apart = append(apart, r.on[m]-mean)
			}
		}
		i = k
	}
	out := mat.NewSymDense(n, nil)
	stat.CorrelationMatrix(out, mat.NewDense(len(rows), n, apart), nil)
	for i := range n {
		for k := range n {
			if finite(out.At(i, k)) {
				continue
			}
			out.SetSym(i, k, 0)
			if i == k {
				out.SetSym(i, i, 1)
			}
		}
	}
	return out
}

// stepOf weighs a fit's terms by one of them; false where it is not there.
func (f *Fit) stepOf(name string) (w []float64, any bool) {
	w = make([]float64, len(f.Terms))
	for i, t := range f.Terms {
		if t.Name == name {
			w[i], any = 1, true
		}
	}
	return w, any
}

func (f *Fit) at(w []float64) (x float64) {
	for i, t := range f.Terms {
		x += w[i] * t.Value
	}
	return x
}

// passage takes one attribute's step apart, of trials whose mean 1/shots is few.
func passage(a Attribute, on []mediator, with *Fit, moved []*Fit, together *mat.SymDense, few, level float64) (Through, bool) {
	t := Through{Attribute: a.Name(), Step: a.StepText(), Ways: map[string]Part{}}
	direct, ok := with.stepOf(a.Name())
	if !ok {
		return t, false
	}
	// What is drawn of the outcome's fit: the step at equal figures, then a unit of each figure.
	weights, middle := [][]float64{direct}, []float64{with.at(direct)}
	for _, m := range on {
		w, _ := with.stepOf(m.name)
		weights, middle = append(weights, w), append(middle, with.at(w))
	}
	effects := mat.NewSymDense(len(weights), nil)
	for i, x := range weights {
		for k, y := range weights {
			v := bilinear(x, with.Cov, y)
			if i <= k {
				effects.SetSym(i, k, v)
			}
			if i == k && i > 0 && on[i-1].spread {
				effects.SetSym(i, i, v+math.Pow(fewShotsSD*few*middle[i], 2))
			}
		}
	}
	changes, step := mat.NewSymDense(len(on), nil), make([]float64, len(on))
	se := make([]float64, len(on))
	for k := range on {
		w, ok := moved[k].stepOf(a.Name())
		if !ok {
			return t, false
		}
		step[k] = moved[k].at(w)
		se[k] = math.Sqrt(max(bilinear(w, moved[k].Cov, w), 0))
	}
	for i := range on {
		for k := i; k < len(on); k++ {
			changes.SetSym(i, k, together.At(i, k)*se[i]*se[k])
		}
	}
	parts := func(effect, change []float64) []float64 { // whole, left, then by way
		out := make([]float64, 2+len(Ways))
		out[1] = effect[0]
		for k, m := range on {
			b := effect[1+k]
			if m.spread {
				b *= 1 + fewShots*few
				out[1] -= fewShots * few * effect[1+k] * change[k] // the whole stays
			}
			out[2+slices.Index(Ways, m.way)] += change[k] * b
		}
		for _, x := range out[1:] {
			out[0] += x
		}
		return out
	}
	r := rand.New(rand.NewPCG(uint64(a)+1, 0x7468726f756768))
	drawnEffects, drawnChanges := normals(r, middle, effects), normals(r, step, changes)
	draws := make([][]float64, 2*(2+len(Ways)))
	for range passageDraws {
		p := parts(drawnEffects(), drawnChanges())
		for i, x := range p {
			draws[i] = append(draws[i], x)
			draws[len(p)+i] = append(draws[len(p)+i], x/p[0])
		}
	}
	for _, d := range draws {
		slices.Sort(d)
	}
	here := parts(middle, step)
	quantile := func(d []float64, p float64) float64 { return stat.Quantile(p, stat.Empirical, d, nil) }
	tail := (1 - level) / 2
	all := make([]Part, len(here))
	for i, x := range here {
		all[i] = Part{Change: x, SE: stat.StdDev(draws[i], nil), Low: quantile(draws[i], tail), High: quantile(draws[i], 1-tail)}
		if whole := all[0]; i > 0 && (whole.Low > 0 || whole.High < 0) {
			share := draws[len(here)+i]
			all[i].Share, all[i].ShareLow, all[i].ShareHigh = ref(x/here[0]), ref(quantile(share, tail)), ref(quantile(share, 1-tail))
		}
	}
	t.Whole, t.Left = all[0], all[1]
	for i, way := range Ways {
		if slices.ContainsFunc(on, func(m mediator) bool { return m.way == way }) {
			t.Ways[way] = all[2+i]
		}
	}
	return t, true
}

// normals draws vectors about a middle; a direction without variance stays there.
func normals(r *rand.Rand, middle []float64, cov *mat.SymDense) func() []float64 {
	n := len(middle)
	var eigen mat.EigenSym
	root := mat.NewDense(n, n, nil)
	if eigen.Factorize(cov, true) {
		var vectors mat.Dense
		eigen.VectorsTo(&vectors)
		for k, v := range eigen.Values(nil) {
			for i := range n {
				root.Set(i, k, vectors.At(i, k)*math.Sqrt(max(v, 0)))
			}
		}
	}
	z := make([]float64, n)
	return func() []float64 {
		for i := range z {
			z[i] = r.NormFloat64()
		}
		out := slices.Clone(middle)
		for i := range out {
			out[i] += dot(root.RawRowView(i), z)
		}
		return out
	}
}
