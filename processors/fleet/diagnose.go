package fleet

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Diagnostic is one reason to distrust an answer: what was measured, from which
// value on it is a worry, and what to do.
type Diagnostic struct {
	Code      string  `json:"code"`
	Title     string  `json:"title"`
	Value     float64 `json:"value"`
	Threshold float64 `json:"threshold"`
	Fired     bool    `json:"fired"`
	Text      string  `json:"text"`
}

// The thresholds from which a diagnostic fires.
const (
	maxTraitShare    = 0.5  // of a trait's variance between players that the choice of a build explains
	minPlayers       = 20   // who tried an attribute
	maxExclusionGap  = 0.03 // difference of exclusion rates
	maxClusterRatio  = 1.3  // clustered over model standard error
	maxKurtosis      = 1.0  // excess
	maxAdriftShare   = 0.2  // of trials after an instruction without the incumbent
	maxUnrepeated    = 0.5  // of levels that hit the incumbent only at their start
	maxLeftOut       = 0.2  // of trials that do not count
	bayDisagreementP = 0.01
)

// Diagnose lists what to distrust about an answer to these trials, all of it,
// fired or not, so that a reader sees what was looked at.
func (a *Answer) Diagnose(trials []Trial) []Diagnostic {
	var out []Diagnostic
	add := func(code, title string, value, threshold float64, fired bool, format string, args ...any) {
		if !finite(value) {
			value = 0
		}
		out = append(out, Diagnostic{code, title, value, threshold, fired, fmt.Sprintf(format, args...)})
	}

	// Too few players, by attribute.
	least, which := math.MaxInt, ""
	for _, at := range a.Design.Attributes {
		if n := a.Tried[at.Name()]; n > 0 && n < least {
			least, which = n, at.Name()
		}
	}
	if which == "" {
		least = 0
	}
	add("few_players", "players who tried an attribute", float64(least), minPlayers, least < minPlayers,
		"%s was tried at two values by %d players; below %d an interval says little about the next one", which, least, minPlayers)
	left := 0
	for _, n := range a.LeftOut {
		left += n
	}
	share := float64(left) / math.Max(float64(a.Trials), 1)
	add("left_out", "trials that do not count", share, maxLeftOut, share > maxLeftOut, "%d of %d trials do not count: %s", left, a.Trials, reasons(a.LeftOut))

	out = append(out, a.orderDiagnostic(), unrepeated(trials), selection(a.Design, trials), bays(a, trials), exclusion(trials), adrift(trials))

	// Slopes that cannot be told from noise.
	confounded, zeroed := 0, 0
	for _, w := range a.Fit.Warnings {
		switch w.Code {
		case "slope_or_noise":
			confounded++
		case "zero_slope_variance":
			zeroed++
		}
	}
	add("slope_or_noise", "slopes that cannot be told from trial noise", float64(confounded), 1, confounded > 0,
		"whether players differ in their slopes cannot be told from trial noise where each player shows a slope once; %d slopes are seen not to vary at all", zeroed)

	worst, term := 0.0, ""
	for _, e := range a.Fit.Terms {
		if e.SE > 0 && e.Clustered/e.SE > worst {
			worst, term = e.Clustered/e.SE, e.Name
		}
	}
	add("clustered", "standard errors clustered by player against the model's", worst, maxClusterRatio, worst > maxClusterRatio && a.Fit.Players >= minPlayers,
		"the largest ratio is that of %s; well above one, players differ in a way that the model does not know", term)

	same, all := 0.0, 0.0
	for i := range trials {
		all++
		if trials[i].TraitsFrom == SameShots && len(a.Design.Traits) > 0 {
			same++
		}
	}
	add("coupling", "trials whose traits come from the shots that are judged", same/math.Max(all, 1), 0, same > 0,
		"%.0f of %.0f trials describe the player by the very shots whose outcome is asked about: their error is on both sides and makes up an effect of the trait", same, all)

	k := a.Noise.DirectionKurtosis
	if a.Outcome.Name == "carry_control" {
		k = a.Noise.CarryKurtosis
	}
	if a.Outcome.Name == "area" {
		k = math.Max(k, a.Noise.CarryKurtosis)
	}
	add("tails", "excess kurtosis of shots within trials", k, maxKurtosis, a.Outcome.Log && k > maxKurtosis,
		"shots have heavier tails than normal ones (mishits, or a mixture); sampling variances were widened for it, and spreads then speak of the tails as much as of the middle")

	settled := 1.0
	for _, w := range a.Fit.Warnings {
		if w.Code == "not_converged" {
			settled = 0
		}
	}
	add("settled", "the search settled", settled, 1, settled < 1, "the search for the variances ended without settling: do not use the answer")
	return out
}

func reasons(m map[string]int) string {
	s := ""
	for _, k := range sortedKeys(m) {
		if s != "" {
			s += ", "
		}
		s += fmt.Sprintf("%s %d", k, m[k])
	}
	if s == "" {
		return "none"
	}
	return s
}

// orderDiagnostic: what order alone does over a session, against the margin.
func (a *Answer) orderDiagnostic() Diagnostic {
	d := Diagnostic{Code: "order", Title: "largest effect of order in the session", Threshold: a.Outcome.Margin}
	name := ""
	for _, e := range a.Fit.Terms {
		if (e.Name == warmUp || e.Name == fatigue || e.Name == swap) && e.P < 0.05 && math.Abs(e.Value) > math.Abs(d.Value) {
			d.Value, name = e.Value, e.Name
		}
	}
	d.Fired = math.Abs(d.Value) > d.Threshold
	d.Text = "no order effect stands out; it is in the model all the same"
	if name != "" {
		d.Text = fmt.Sprintf("%s (%s) changes the outcome by %.3g: it is taken out by the model, but builds that are always hit at the same place in the session stay confounded with it", name, orderText(name), d.Value)
	}
	return d
}

// unrepeated: levels in which the incumbent was hit only before all others, so
// that everything that drifts in a session looks like the new build's doing.
func unrepeated(trials []Trial) Diagnostic {
	type key struct {
		player, session string
		level           int
	}
	type span struct{ firstOther, lastGamer, others, gamers int }
	m := map[key]span{}
	for i := range trials {
		t := &trials[i]
		k := key{t.Player, t.Session, t.Level}
		s, ok := m[k]
		if !ok {
			s.firstOther = math.MaxInt
		}
		if t.Gamer {
			s.gamers++
			s.lastGamer = max(s.lastGamer, t.Number)
		} else {
			s.others++
			s.firstOther = min(s.firstOther, t.Number)
		}
		m[k] = s
	}
	n, bad := 0.0, 0.0
	for _, s := range m {
		if s.gamers == 0 || s.others == 0 {
			continue
		}
		n++
		if s.lastGamer < s.firstOther {
			bad++
		}
	}
	share := bad / math.Max(n, 1)
	return Diagnostic{"incumbent_once", "levels that hit the incumbent only at their start", share, maxUnrepeated, share > maxUnrepeated,
		fmt.Sprintf("in %.0f of %.0f levels the incumbent was not hit again after the first new build: warm-up and fatigue then rest on the model alone; advise hitting it again at the end", bad, n)}
}

// selection: is a change of build only ever chosen for one kind of player? The
// share of the variance of a trait between players that the mean change of an
// attribute explains (R² of one on the other), at its largest.
func selection(d *Design, trials []Trial) Diagnostic {
	out := Diagnostic{Code: "selection", Title: "share of a trait that the choice of build explains", Threshold: maxTraitShare}
	type agg struct{ gamer, others, ng, no [attributeCount]float64 }
	byPlayer := map[string]*agg{}
	for i := range trials {
		t := &trials[i]
		g := byPlayer[t.Player]
		if g == nil {
			g = &agg{}
			byPlayer[t.Player] = g
		}
		for a, x := range t.Attributes {
			if !finite(x) {
				continue
			}
			if t.Gamer {
				g.gamer[a] += x
				g.ng[a]++
			} else {
				g.others[a] += x
				g.no[a]++
			}
		}
	}
	traits := playerTraits(trials)
	best := ""
	for _, a := range d.Attributes {
		for _, name := range d.Traits {
			var x, y []float64
			for _, id := range sortedKeys(byPlayer) {
				g, tr := byPlayer[id], traits[id][traitIndex(name)]
				if g.ng[a] == 0 || g.no[a] == 0 || !finite(tr) {
					continue
				}
				x = append(x, g.others[a]/g.no[a]-g.gamer[a]/g.ng[a])
				y = append(y, tr)
			}
			if r := correlation(x, y); len(x) >= 10 && r*r > out.Value {
				out.Value, best = r*r, a.Name()+" by "+name
			}
		}
	}
	out.Fired = out.Value > out.Threshold
	out.Text = "builds were tried across all kinds of players"
	if best != "" {
		out.Text = fmt.Sprintf("the largest is %s: where builds are only ever chosen for one kind of player, what the build does and whom it was given to cannot be told apart outside that kind", best)
	}
	return out
}

func correlation(x, y []float64) float64 {
	n := float64(len(x))
	if n < 3 {
		return 0
	}
	var mx, my, xx, yy, xy float64
	for i := range x {
		mx += x[i] / n
		my += y[i] / n
	}
	for i := range x {
		xx += (x[i] - mx) * (x[i] - mx)
		yy += (y[i] - my) * (y[i] - my)
		xy += (x[i] - mx) * (y[i] - my)
	}
	if xx <= 0 || yy <= 0 {
		return 0
	}
	return xy / math.Sqrt(xx*yy)
}

// bays: do devices disagree? Each player's level with the incumbent is compared
// between bays by a one-way analysis of variance, after the traits' own share;
// and the same device model must not read spreads or carries apart by more than
// the margin. Levels are swept out of every effect, so a constant bias does no
// harm to them; it does to anything that compares players across bays.
func bays(a *Answer, trials []Trial) Diagnostic {
	out := Diagnostic{Code: "bays", Title: "disagreement between bays on the incumbent", Threshold: a.Outcome.Margin, Text: "one bay, or too few players for a comparison"}
	type key struct{ player, bay string }
	sum, n := map[key]float64{}, map[key]float64{}
	for i := range trials {
		t := &trials[i]
		if y, _, ok := a.Outcome.Value(t, a.Noise); ok && t.Gamer {
			k := key{t.Player, t.Studio + "/" + t.Bay}
			sum[k] += y
			n[k]++
		}
	}
	traits := playerTraits(trials)
	// Regress on traits with bays as groups: sweep the traits out of both.
	groups := map[string][][]float64{} // bay: rows of y and traits
	for k, s := range sum {
		row := []float64{s / n[k]}
		for i, name := range a.Design.Traits {
			z := (traits[k.player][traitIndex(name)] - a.Design.Center[i]) / a.Design.Spread[i]
			if !finite(z) {
				z = 0
			}
			row = append(row, z)
		}
		groups[k.bay] = append(groups[k.bay], row)
	}
	b, err := NewBuilder(Model{Columns: append([]string{Constant}, a.Design.Traits...), Terms: baysTerms(a.Design.Traits), Variance: Estimated})
	if err != nil {
		return out
	}
	total := 0
	bayNames := sortedKeys(groups)
	for _, bay := range bayNames {
		if len(groups[bay]) < 5 {
			delete(groups, bay)
			continue
		}
		total += len(groups[bay])
	}
	bayNames = sortedKeys(groups)
	if len(bayNames) < 2 {
		return out
	}
	// Pooled residuals about a common regression on the traits, then an F test
	// between bays.
	id := 0
	var all []float64
	var owner []int
	var rows [][]float64
	for g, bay := range bayNames {
		sortRows(groups[bay])
		for _, r := range groups[bay] {
			cols := append([]float64{1}, r[1:]...)
			if b.Player(fmt.Sprint(id), nil) != nil || b.Row(r[0], 1, cols) != nil {
				return out
			}
			id++
			all, owner, rows = append(all, r[0]), append(owner, g), append(rows, cols)
		}
	}
	data := b.Data()
	w, _, err := data.prepare(noCancel, 1)
	if err != nil {
		return out
	}
	sol, err := w.solve(noCancel, point{tau: 1})
	if err != nil || sol.beta == nil {
		return out
	}
	means, count := make([]float64, len(bayNames)), make([]float64, len(bayNames))
	res := make([]float64, len(all))
	for i := range all {
		res[i] = all[i]
		for k := range w.order {
			c := w.Terms[w.order[k]].Column
			res[i] -= sol.beta[k] * w.sc.y / w.termScale(k) * rows[i][c]
		}
		means[owner[i]] += res[i]
		count[owner[i]]++
	}
	grand := 0.0
	for g := range means {
		grand += means[g] / float64(total)
		means[g] /= count[g]
	}
	between, within := 0.0, 0.0
	for i := range res {
		m := means[owner[i]]
		within += (res[i] - m) * (res[i] - m)
	}
	low, high := 0, 0
	for g := range means {
		between += count[g] * (means[g] - grand) * (means[g] - grand)
		if means[g] < means[low] {
			low = g
		}
		if means[g] > means[high] {
			high = g
		}
	}
	df1, df2 := float64(len(bayNames)-1), float64(total-len(bayNames)-len(a.Design.Traits))
	if df2 < 1 || within <= 0 {
		return out
	}
	p := distuv.F{D1: df1, D2: df2}.Survival(between / df1 / (within / df2))
	out.Value = means[high] - means[low]
	out.Fired = p < bayDisagreementP && out.Value > out.Threshold
	out.Text = fmt.Sprintf("players of equal traits read %.3g higher in %s than in %s (p = %.2g): effects within a session are safe from a constant bias, comparisons between players are not; check the devices against each other", out.Value, bayNames[high], bayNames[low], p)
	return out
}

func baysTerms(traits []string) []Term {
	t := []Term{{Constant, 0, -1}}
	for i, n := range traits {
		t = append(t, Term{n, i + 1, -1})
	}
	return t
}

// exclusion: are shots left out more often with one kind of build?
func exclusion(trials []Trial) Diagnostic {
	var out, all [2]float64
	for i := range trials {
		s := &trials[i].Shots
		k := 0
		if trials[i].Gamer {
			k = 1
		}
		out[k] += float64(s.Excluded)
		all[k] += float64(s.Excluded + s.N)
	}
	d := Diagnostic{Code: "exclusion", Title: "exclusions with new builds less those with the incumbent", Threshold: maxExclusionGap, Text: "too few shots for a comparison"}
	if all[0] == 0 || all[1] == 0 {
		return d
	}
	r0, r1 := out[0]/all[0], out[1]/all[1]
	pooled := (out[0] + out[1]) / (all[0] + all[1])
	d.Value = r0 - r1
	se := math.Sqrt(pooled * (1 - pooled) * (1/all[0] + 1/all[1]))
	d.Fired = se > 0 && math.Abs(d.Value) > d.Threshold && math.Abs(d.Value) > 3*se
	d.Text = fmt.Sprintf("%.1f %% of shots were left out with new builds, %.1f %% with the incumbent: leaving out more of one side's bad shots makes it look tighter; compare the answer with and without exclusions", 100*r0, 100*r1)
	return d
}

// adrift: trials after an instruction that the incumbent was not hit again for.
func adrift(trials []Trial) Diagnostic {
	type key struct {
		player, session string
		level           int
	}
	gamer := map[key]bool{}
	for i := range trials {
		t := &trials[i]
		if t.Gamer {
			gamer[key{t.Player, t.Session, t.Level}] = true
		}
	}
	n, bad := 0.0, 0.0
	for i := range trials {
		t := &trials[i]
		if t.Instruction == "" {
			continue
		}
		n++
		if !gamer[key{t.Player, t.Session, t.Level}] {
			bad++
		}
	}
	share := bad / math.Max(n, 1)
	return Diagnostic{"instruction", "trials under an instruction without the incumbent", share, maxAdriftShare, n > 0 && share > maxAdriftShare,
		fmt.Sprintf("%.0f of %.0f trials under an instruction have no incumbent beside them: club and swing changed together, and only what was hit under the same instruction is compared", bad, n)}
}

// noCancel is for computations too small to be worth stopping.
var noCancel = context.Background()

func sortRows(rows [][]float64) {
	slices.SortFunc(rows, slices.Compare[[]float64])
}
