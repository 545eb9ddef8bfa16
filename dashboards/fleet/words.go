package fleet

import (
	"fmt"
	"math"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// words say an answer to people, in the studio's units.
type words struct {
	figure.Units
	outcome fleet.Outcome
	typical fleet.Typical
}

func wordsFor(s *answers.Stored, u figure.Units) words {
	w := words{Units: u}
	if s != nil && s.Answer != nil {
		w.outcome, w.typical = s.Answer.Outcome, s.Answer.Typical
	}
	return w
}

// Trait writes a value of a trait of the swing.
func (w words) Trait(trait string, x float64) string {
	switch trait {
	case "speed_mps":
		return w.Speed().Text(x)
	case "strike_scatter_ln":
		return w.Small().Text(math.Exp(x))
	case "strike_x_m", "strike_y_m":
		return w.Small().Text(x)
	case "tempo_ratio":
		return figure.In("", 1, 2).Text(x)
	}
	return figure.In("°", 1, 1).Text(x)
}

// Change writes a change with its sign: percent of a spread, or the outcome's unit.
func (w words) Change(x float64) string { u := w.unit(); return u.With(u.Signed(w.turn(x))) }

// Range writes an interval of a change.
func (w words) Range(low, high float64) string {
	u := w.unit()
	return u.Signed(w.turn(low)) + " to " + u.With(u.Signed(w.turn(high)))
}

func (w words) turn(x float64) float64 {
	if w.outcome.Log {
		return math.Expm1(min(x, 5))
	}
	return x
}

func (w words) unit() figure.Unit {
	switch {
	case w.outcome.Log:
		return figure.In("%", 100, 1)
	case w.outcome.Unit == "m":
		return w.Distance()
	}
	return figure.In(w.outcome.Unit, 1, 2)
}

// Bound writes the margin.
func (w words) Bound(v fleet.Verdict) string {
	u := w.unit()
	return u.Text(w.turn(v.Bound))
}

// Metres writes what a change is on the ground at the carry it is shown for; empty
// where the outcome is no distance.
func (w words) Metres(e fleet.Effect) string {
	if !w.outcome.Log || e.Metres == nil {
		return ""
	}
	d := w.Distance()
	return d.With(d.Signed(*e.Metres))
}

// does says a change in a word: 3.1 % tighter.
func (w words) does(x float64) string {
	u := w.unit()
	amount := u.Text(math.Abs(w.turn(x)))
	pair := [2]string{"more", "less"}
	switch {
	case w.outcome.Log:
		pair = [2]string{"wider", "tighter"}
	case w.outcome.Name == "carry":
		pair = [2]string{"longer", "shorter"}
	case w.outcome.Name == "window":
		pair = [2]string{"farther from the launch window", "nearer to the launch window"}
	}
	if x < 0 {
		return amount + " " + pair[1]
	}
	return amount + " " + pair[0]
}

// effect says what one step does, with its interval.
func (w words) effect(e fleet.Effect) string {
	return w.does(e.Change) + " (" + w.Range(e.Low, e.High) + ")"
}

// ground says what a change is on the ground: of one standard deviation across or
// along, at the average carry of the trials asked about.
func (w words) ground(e fleet.Effect) string {
	m := w.Metres(e)
	if m == "" || !(w.typical.Carry > 0) {
		return ""
	}
	d := w.Distance()
	return ", " + m + " on the ground at a carry of " + d.With(figure.In("", d.Factor, 0).Number(w.typical.Carry))
}

// Sure says the evidence.
func (w words) Sure(v fleet.Verdict, p, q float64) string {
	switch v.Evidence {
	case fleet.Finding:
		return "a finding, adjusted p " + odds(q)
	case fleet.Hint:
		return fmt.Sprintf("a hint only: p %s, but adjusted for all that was looked at %s", odds(p), odds(q))
	}
	return "no evidence yet, adjusted p " + odds(q)
}

// Against says how the size stands to the margin.
func (w words) Against(v fleet.Verdict) string {
	return map[string]string{
		fleet.Beyond: "larger than the margin of ", fleet.Within: "smaller than the margin of ", fleet.Open: "on either side of the margin of ",
	}[v.Margin] + w.Bound(v)
}

// Close says which columns one standard error would turn; empty for none.
func (w words) Close(v fleet.Verdict) string {
	if len(v.Close) == 0 {
		return ""
	}
	return "a close call on " + strings.Join(v.Close, " and ")
}

// share writes a share, a dash where there is none.
func share(x *float64) string {
	if x == nil {
		return "–"
	}
	return fmt.Sprintf("%.1f %%", 100**x)
}

// contrast is what was drawn by lot against what was chosen, in words.
type contrast struct{ Lot, LotRange, Chosen, ChosenRange, Difference, SE string }

// Contrast writes an effect's; the zero value where too few drew. A difference of
// logarithms is that of percents as long as both are small, which is how it is written.
func (w words) Contrast(e fleet.Effect) contrast {
	c := e.Choice
	if c == nil {
		return contrast{}
	}
	u := w.unit()
	return contrast{w.Change(c.Lot.Change), w.Range(c.Lot.Low, c.Lot.High), w.Change(c.Chosen.Change), w.Range(c.Chosen.Low, c.Chosen.High),
		w.Change(c.Difference), u.Text(c.SE)}
}

// SaidBy says whose word an effect is.
func (w words) SaidBy(e fleet.Effect) string {
	switch {
	case e.ByLot:
		return "the lot alone: it was chosen for those whom it suits"
	case e.Choice != nil:
		return "both, which agree"
	}
	return "those who tried it: too few drew it by lot"
}

// Pays says for whom one step is an improvement.
func (w words) Pays(d fleet.Dependence) string {
	if d.Turns == nil {
		if d.Pays == fleet.PaysAll {
			return "it pays for all swings of the fleet"
		}
		return "it pays for no swing of the fleet"
	}
	return fmt.Sprintf("it pays %s %s, for %.0f %% of players", d.Pays, w.Trait(d.Trait, *d.Turns), 100*d.PaysFor)
}

// Headline says a finding in a sentence: for whom, what, how much, how sure, and
// how many tried it.
func (w words) Headline(f fleet.Said) string {
	tried := func(players, sessions int) string {
		return fmt.Sprintf("%s players tried it, in %s runs of comparable trials.", count(players), count(sessions))
	}
	end := func(v fleet.Verdict, p, q float64) string {
		text := upper(w.Sure(v, p, q)) + "; " + w.Against(v)
		if c := w.Close(v); c != "" {
			text += ", " + c
		}
		return text + ". "
	}
	if e := f.Effect; e != nil {
		by := ""
		if e.ByLot {
			c := w.Contrast(*e)
			by = fmt.Sprintf("This is the lot's word: where somebody chose it, it seemed to make %s (%s), because it was given to those whom "+
				"it suits. ", w.does(e.Choice.Chosen.Change), c.ChosenRange)
		}
		return fmt.Sprintf("For the average player, %s makes %s %s%s. %s%s%s", e.Step, w.what(), w.effect(*e), w.ground(*e), by,
			end(e.Verdict, e.P, e.Q), tried(e.Players, e.Sessions))
	}
	d := f.Dependence
	a, _ := fleet.ParseAttribute(d.Attribute)
	var at []string
	for _, c := range d.Ends {
		at = append(at, fmt.Sprintf("at %s %s", w.Trait(d.Trait, c.At), w.effect(c.Effect)))
	}
	most := d.Ends[0].Effect
	if math.Abs(d.Ends[2].Effect.Change) > math.Abs(most.Change) {
		most = d.Ends[2].Effect
	}
	return fmt.Sprintf("What %s does to %s depends on %s: %s%s; %s. %s%s", a.StepText(), w.what(), answers.TraitTitle(d.Trait),
		strings.Join(at, ", "), w.ground(most), w.Pays(*d), end(d.Verdict, d.P, d.Q), tried(d.Players, d.Sessions))
}

func (w words) what() string {
	switch {
	case w.outcome.Log:
		return answers.OutcomeTitle(w.outcome.Name) + " (scatter)"
	case w.outcome.Name == "window":
		return "the launch"
	}
	return answers.OutcomeTitle(w.outcome.Name)
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
