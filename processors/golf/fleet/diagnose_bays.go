package fleet

import (
	"context"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// bays: do devices disagree? Each player's level with the incumbent is compared
// between bays by a one-way analysis of variance, after the traits' own share;
// and the same device model must not read spreads or carries apart by more than
// the margin. Levels are swept out of every effect, so a constant bias does no
// harm to them; it does to anything that compares players across bays.
func bays(a *Answer, trials []Trial, traits map[string][TraitCount]float64) Diagnostic {
	out := Diagnostic{Code: "bays", Title: "disagreement between bays on the incumbent", Threshold: a.Outcome.Margin,
		Text: "one bay, or too few players for a comparison"}
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
	b, err := NewBuilder(Model{Columns: append([]string{Constant}, a.Design.Traits...), Terms: baysTerms(a.Design.Traits),
		Variance: Estimated})
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
	out.Text = fmt.Sprintf("players of equal traits read %.3g higher in %s than in %s (p = %.2g): effects within a session are safe from a "+
		"constant bias, comparisons between players are not; check the devices against each other", out.Value, bayNames[high], bayNames[low], p)
	if len(a.Noise.Devices) > 0 {
		out.Text += "; what the noise of some hides is made up for in the effects, see the notes"
	}
	return out
}

func baysTerms(traits []string) []Term {
	t := []Term{{Constant, 0, -1}}
	for i, n := range traits {
		t = append(t, Term{n, i + 1, -1})
	}
	return t
}

// noCancel is for computations too small to be worth stopping.
var noCancel = context.Background()

func sortRows(rows [][]float64) {
	slices.SortFunc(rows, slices.Compare[[]float64])
}
