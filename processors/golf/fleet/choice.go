package fleet

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
)

// Drawn is what Trial.Why says of a club that the lot gave the player.
const Drawn = "drawn"

// chosenP is from which chance on the drawn and the chosen are said to differ: of fleets
// in which they don't, one in twenty at most is told by the lot alone, which is wider and
// no worse.
const chosenP = 0.05

// ByLot keeps the trials that the lot gave, and those of the own club beside them.
func ByLot(t *Trial) bool { return t.Gamer || t.Why == Drawn }

// ByChoice keeps the trials that somebody chose, and those of the own club.
func ByChoice(t *Trial) bool { return t.Gamer || t.Why != Drawn }

// Side is what one step of an attribute does by some of the trials, for the average
// player, in the outcome's own scale.
type Side struct {
	Change  float64 `json:"change"`
	SE      float64 `json:"se"`
	Low     float64 `json:"ci_low"`
	High    float64 `json:"ci_high"`
	Players int     `json:"players"` // who hit it at two values under equal circumstances
}

// Contrast holds what one step does where the lot gave the club against what it does
// where somebody chose it.
type Contrast struct {
	Attribute string `json:"attribute"`
	Lot       Side   `json:"lot"`
	Chosen    Side   `json:"chosen"`
	// Difference is the lot's less the chosen, with its standard error, which takes
	// the two for independent: they share the own club's trials, so it is rather too
	// wide. P is two-sided; Q is adjusted over the attributes (Holm).
	Difference float64 `json:"difference"`
	SE         float64 `json:"difference_se"`
	P          float64 `json:"p"`
	Q          float64 `json:"q"`
	// Differs: beyond chance. What the answer says of this step is then the lot's word.
	Differs bool `json:"differs"`

	// Shift is the lot's less the whole answer's, DF the degrees of freedom of its
	// intervals; 0: normal.
	Shift float64 `json:"shift"`
	DF    float64 `json:"df"`
}

// Choice compares what clubs did that were drawn by lot with what they did where
// somebody chose them: where a fitter gives a build to those whom it suits, the chosen
// say more of it than it does, and the model cannot see why. Each attribute is estimated
// from either, under this answer's design and noise, the own club's trials beside. Fired
// where one differs beyond chance; from then on Effects says of that step what the lot
// says. Without twenty players who drew, nothing can be told, and that is said.
func (a *Answer) Choice(ctx context.Context, trials []Trial) (Diagnostic, error) {
	d := Diagnostic{Code: "choice", Title: "odds of such a difference between what was drawn by lot and what was chosen, were there none",
		Value: 1, Threshold: chosenP}
	a.Choices = nil
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
	lot, err := a.part(ctx, trials, ByLot)
	if err != nil {
		return d, err
	}
	chosen, err := a.part(ctx, trials, ByChoice)
	if err != nil {
		return d, err
	}
	if lot == nil || chosen == nil {
		d.Text = fmt.Sprintf("%d players hit clubs that the lot gave them, too few to say by those alone what they do", len(players))
		return d, nil
	}
	contrasts := a.contrasts(lot, chosen)
	if len(contrasts) == 0 {
		d.Text = fmt.Sprintf("no attribute was varied for %d players both where the lot chose and where somebody did", minPlayers)
		return d, nil
	}
	a.Choices = contrasts
	least := slices.MinFunc(contrasts, func(x, y Contrast) int { return cmp.Compare(x.P, y.P) })
	d.Value, d.Fired = least.Q, least.Differs
	at, _ := ParseAttribute(least.Attribute)
	d.Text = fmt.Sprintf("%s: %s by lot and %s where it was chosen, of %d players who drew", at.StepText(),
		a.Outcome.changed(least.Lot.Change), a.Outcome.changed(least.Chosen.Change), len(players))
	if d.Fired {
		d.Text += ": it was chosen for those whom it suits; what is said of it is the lot's word, and holds for the next player"
	}
	return d, nil
}

// contrasts holds two parts of an answer against each other, attribute by attribute.
func (a *Answer) contrasts(lot, chosen *Answer) []Contrast {
	var out []Contrast
	average := make([]float64, len(a.Design.Traits))
	for i, at := range a.Design.Attributes {
		whole, ok := a.step(i, average)
		x, here := lot.step(i, average)
		y, there := chosen.step(i, average)
		if !ok || !here || !there || !(x.SE > 0) || !(y.SE > 0) || min(x.Players, y.Players) < minPlayers {
			continue
		}
		c := Contrast{Attribute: at.Name(), Lot: sideOf(x), Chosen: sideOf(y), Difference: x.Change - y.Change,
			SE: math.Hypot(x.SE, y.SE), Shift: x.Change - whole.Change, DF: lot.degrees(at.Name())}
		// The fewer degrees of freedom count, which are mostly the lot's.
		df := c.DF
		if other := chosen.degrees(at.Name()); other > 0 && (df == 0 || other < df) {
			df = other
		}
		_, tail := quantiles(df, 0.95)
		c.P = tail(c.Difference / c.SE)
		out = append(out, c)
	}
	p := make([]float64, len(out))
	for i := range out {
		p[i] = out[i].P
	}
	for i, q := range Holm(p) {
		out[i].Q, out[i].Differs = q, q < chosenP
	}
	return out
}

func sideOf(e Effect) Side { return Side{e.Change, e.SE, e.Low, e.High, e.Players} }

// choiceOf is the contrast of an attribute; nil where there is none.
func (a *Answer) choiceOf(attribute string) *Contrast {
	for i := range a.Choices {
		if a.Choices[i].Attribute == attribute {
			return &a.Choices[i]
		}
	}
	return nil
}

// chosenFor is the contrast of an attribute where it differs: what the model says of it
// then is not what it does to the next player.
func (a *Answer) chosenFor(attribute string) *Contrast {
	if c := a.choiceOf(attribute); c != nil && c.Differs {
		return c
	}
	return nil
}

// part asks the same of some of the trials, under the same design and noise, so that
// both speak of one step of one club; nil where they are not enough.
func (a *Answer) part(ctx context.Context, trials []Trial, keep func(*Trial) bool) (*Answer, error) {
	kept := those(trials, keep)
	s, err := NewStream(a.Question, a.Design, a.Noise)
	if err != nil {
		return nil, err
	}
	for _, i := range hitOrder(kept) {
		if err := s.Add(&kept[i]); err != nil {
			return nil, err
		}
	}
	out, err := s.Answer(ctx)
	var m *ModelError
	if errors.As(err, &m) {
		return nil, nil
	}
	return out, err
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

// reason is how strong a reason that nobody noted would have to be to explain a change
// away: the share of what is left both of the choice and of the outcome that it would
// have to account for (the robustness value of Cinelli & Hazlett, J. R. Stat. Soc. B
// 82:39, 2020: ½(√(f⁴+4f²) − f²) with f = |t|/√degrees). nil without a standard error.
func (a *Answer) reason(change, se float64) *float64 {
	if !(se > 0) {
		return nil
	}
	free := math.Max(float64(a.Fit.K-a.Fit.Sessions-len(a.Fit.Terms)), 1)
	f2 := change * change / (se * se) / free
	return ref((math.Sqrt(f2*f2+4*f2) - f2) / 2)
}

// hidden tells of the attribute that is surest.
func (a *Answer) hidden() Diagnostic {
	d := Diagnostic{Code: "hidden_reason", Title: "how strong a reason nobody noted must be to explain the surest effect away",
		Text: "no effect to explain"}
	surest := 0.0
	average := make([]float64, len(a.Design.Traits))
	for i := range a.Design.Attributes {
		e, ok := a.step(i, average)
		strong := a.reason(e.Change, e.SE)
		if !ok || strong == nil || math.Abs(e.Change/e.SE) <= surest {
			continue
		}
		surest = math.Abs(e.Change / e.SE)
		d.Value = *strong
		d.Text = fmt.Sprintf("%s: a reason for choosing it that also bears on the outcome would have to account for %.1f %% of what the "+
			"model leaves open of both to make it nothing", e.Step, 100*d.Value)
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
