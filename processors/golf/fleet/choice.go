package fleet

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
)

// Drawn is what Trial.Why says of a club that the lot gave the player.
const Drawn = "drawn"

// chosenP is from which chance on the drawn and the chosen are said to differ.
const chosenP = 0.01

// ByLot keeps the trials that the lot gave, and those of the own club beside them.
func ByLot(t *Trial) bool { return t.Gamer || t.Why == Drawn }

// ByChoice keeps the trials that somebody chose, and those of the own club.
func ByChoice(t *Trial) bool { return t.Gamer || t.Why != Drawn }

// Choice compares what clubs did that were drawn by lot with what they did where
// somebody chose them: where a fitter gives a build to those whom it suits, the chosen
// say more of it than it does, and the model cannot see why. Each attribute is estimated
// from either, the own club's trials beside; they share no others and are taken for
// independent, which makes the test somewhat mild. The p-values of the attributes are
// adjusted (Holm). Fired where one differs. Without twenty players who drew, nothing
// can be told, and that is said.
func (a *Answer) Choice(ctx context.Context, trials []Trial, q Question) (Diagnostic, error) {
	d := Diagnostic{Code: "choice", Title: "odds of such a difference between what was drawn by lot and what was chosen, were there none",
		Value: 1, Threshold: chosenP}
	players := map[string]bool{}
	for i := range trials {
		if trials[i].Why == Drawn && !trials[i].Gamer {
			players[trials[i].Player] = true
		}
	}
	if len(players) < minPlayers {
		d.Text = fmt.Sprintf("%d players hit clubs that the lot gave them, of whom it takes %d: what is said holds among those who "+
			"tried it, and whether somebody chose it for those whom it suits cannot be "+
			"seen; let the lot choose among what is as good", len(players), minPlayers)
		return d, nil
	}
	lot, err := part(ctx, trials, q, ByLot)
	if err != nil {
		return d, err
	}
	chosen, err := part(ctx, trials, q, ByChoice)
	if err != nil {
		return d, err
	}
	if lot == nil || chosen == nil {
		d.Text = fmt.Sprintf("%d players hit clubs that the lot gave them, too few to say by those alone what they do", len(players))
		return d, nil
	}
	var texts []string
	var ps []float64
	for _, at := range a.Design.Attributes {
		x, here := lot.Fit.term(at.Name())
		y, there := chosen.Fit.term(at.Name())
		if !here || !there {
			continue
		}
		z := (x.Value - y.Value) / math.Hypot(x.SE, y.SE)
		ps = append(ps, math.Erfc(math.Abs(z)/math.Sqrt2))
		texts = append(texts, fmt.Sprintf("%s: %s by lot and %s where it was chosen", at.StepText(), a.Outcome.changed(x.Value),
			a.Outcome.changed(y.Value)))
	}
	if len(ps) == 0 {
		d.Text = "no attribute varied both where the lot chose and where somebody did"
		return d, nil
	}
	least := 0
	for i, p := range ps {
		if p < ps[least] {
			least = i
		}
	}
	d.Value = math.Min(1, ps[least]*float64(len(ps)))
	d.Fired = d.Value < d.Threshold
	d.Text = fmt.Sprintf("%s, of %d players who drew", texts[least], len(players))
	if d.Fired {
		d.Text += ": it was chosen for those whom it suits; for the next player believe the lot"
	}
	return d, nil
}

// part asks the question of some of the trials; nil where they are not enough.
func part(ctx context.Context, trials []Trial, q Question, keep func(*Trial) bool) (*Answer, error) {
	a, err := Ask(ctx, those(trials, keep), q)
	var m *ModelError
	if errors.As(err, &m) {
		return nil, nil
	}
	return a, err
}

// those are the trials that are kept.
func those(trials []Trial, keep func(*Trial) bool) (kept []Trial) {
	for i := range trials {
		if keep(&trials[i]) {
			kept = append(kept, trials[i])
		}
	}
	return kept
}

// Hidden is how strong a reason that nobody noted would have to be to explain a term's
// effect away: the share of what is left both of the choice and of the outcome that it
// would have to account for (the robustness value of Cinelli & Hazlett, J. R. Stat. Soc.
// B 82:39, 2020: ½(√(f⁴+4f²) − f²) with f = |t|/√degrees). false where the term is not
// in the answer.
func (a *Answer) Hidden(term string) (float64, bool) {
	t, ok := a.Fit.term(term)
	if !ok || !(t.SE > 0) {
		return 0, false
	}
	free := math.Max(float64(a.Fit.K-a.Fit.Sessions-len(a.Fit.Terms)), 1)
	f2 := t.Value * t.Value / (t.SE * t.SE) / free
	return (math.Sqrt(f2*f2+4*f2) - f2) / 2, true
}

// hidden tells of the attribute that is surest.
func (a *Answer) hidden() Diagnostic {
	d := Diagnostic{Code: "hidden_reason", Title: "how strong a reason nobody noted must be to explain the surest effect away",
		Text: "no effect to explain"}
	surest := 0.0
	for _, at := range a.Design.Attributes {
		t, ok := a.Fit.term(at.Name())
		if !ok || !(t.SE > 0) || math.Abs(t.Value/t.SE) <= surest {
			continue
		}
		surest = math.Abs(t.Value / t.SE)
		d.Value, _ = a.Hidden(at.Name())
		d.Text = fmt.Sprintf("%s: a reason for choosing it that also bears on the outcome would have to account for %.1f %% of what the "+
			"model leaves open of both to make it nothing", at.StepText(), 100*d.Value)
	}
	return d
}

// changed says a change for people: in percent of a spread, else in the outcome's unit.
func (o Outcome) changed(x float64) string {
	if o.Log {
		return fmt.Sprintf("%+.1f %%", o.Percent(x))
	}
	return fmt.Sprintf("%+.2g %s", x, o.Unit)
}

// term finds an estimate by name.
func (f *Fit) term(name string) (Estimate, bool) {
	i := slices.IndexFunc(f.Terms, func(t Estimate) bool { return t.Name == name })
	if i < 0 {
		return Estimate{}, false
	}
	return f.Terms[i], true
}
