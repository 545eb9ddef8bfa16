package answers

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fairlead/ingest/contract/cell"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/fleet"
)

// Unit names the scale that an answer's effects are shown in.
func (s *Stored) Unit() string {
	if s.Answer.Outcome.Log {
		return "% of the spread"
	}
	return s.Answer.Outcome.Unit
}

// Shown is an effect in the shown scale: percent of a spread, or the outcome's
// unit.
type Shown struct {
	Value, Low, High float64
	PILow, PIHigh    *float64
}

// Show turns an effect into the shown scale.
func (s *Stored) Show(e fleet.Effect) Shown {
	turn := func(x float64) float64 { return x }
	if s.Answer.Outcome.Log {
		turn = s.Answer.Outcome.Percent
	}
	out := Shown{Value: turn(e.Change), Low: turn(e.Low), High: turn(e.High)}
	if e.PILow != nil && e.PIHigh != nil {
		low, high := turn(*e.PILow), turn(*e.PIHigh)
		out.PILow, out.PIHigh = &low, &high
	}
	return out
}

// Profiles are the three players that a forest plot shows: at one standard
// deviation of a trait below the mean, at it, and above.
var Profiles = []float64{-1, 0, 1}

// TraitText says a value of a trait with its unit.
func TraitText(trait string, x float64) string {
	switch trait {
	case "speed_mps":
		return fmt.Sprintf("%.1f m/s", x)
	case "strike_scatter_ln":
		return fmt.Sprintf("%.1f mm", 1000*math.Exp(x))
	case "strike_x_m", "strike_y_m":
		return fmt.Sprintf("%.1f mm", 1000*x)
	case "tempo_ratio":
		return fmt.Sprintf("%.2f", x)
	}
	return fmt.Sprintf("%.1f°", x)
}

// traitWords say a trait to people: as a title, short before a range, and the
// range's unit with the factor from the stored one.
var traitWords = map[string]struct {
	title, short, unit string
	factor             float64
}{
	"speed_mps":         {"clubhead speed", "clubhead speed", " m/s", 1},
	"attack_deg":        {"attack angle", "attack", "°", 1},
	"path_deg":          {"club path", "path", "°", 1},
	"face_to_path_deg":  {"face to path", "face to path", "°", 1},
	"dynamic_loft_deg":  {"dynamic loft", "dynamic loft", "°", 1},
	"strike_x_m":        {"strike, toe positive", "strike toward the toe", " mm", 1000},
	"strike_y_m":        {"strike, up positive", "strike up the face", " mm", 1000},
	"strike_scatter_ln": {"strike scatter", "strike scatter (log)", "", 1},
	"tempo_ratio":       {"tempo", "tempo", "", 1},
}

// TraitTitle is a trait in words.
func TraitTitle(trait string) string {
	if w, ok := traitWords[trait]; ok {
		return w.title
	}
	return trait
}

// TraitStep says in words what one unit of an effect's dependence on a trait is.
func (s *Stored) TraitStep(e fleet.Effect) string {
	a, _ := fleet.ParseAttribute(e.Attribute)
	for i, t := range s.Answer.Design.Traits {
		if t == e.Trait {
			more := TraitText(t, s.Answer.Design.Spread[i])
			if t == "strike_scatter_ln" {
				more = fmt.Sprintf("%.0f %%", 100*math.Expm1(s.Answer.Design.Spread[i]))
			}
			return a.StepText() + ", for each " + more + " more " + TraitTitle(t)
		}
	}
	return e.Step
}

// OutcomeTitle is an outcome in a few words.
func OutcomeTitle(name string) string {
	if o, ok := glossary.Find(name); ok && o.Fleet != nil {
		return o.Fleet.Short
	}
	return name
}

// Title says what the answer is about.
func (s *Stored) Title() string {
	t := OutcomeTitle(s.Question.Outcome)
	if c := s.Question.Filter.Category; c != "" {
		t += ", " + c
	}
	return t + ": " + s.Label
}

// Margin is the change that is practically none, in the shown scale.
func (s *Stored) Margin() float64 {
	if s.Answer.Outcome.Log {
		return s.Answer.Outcome.Percent(s.Answer.Outcome.Margin)
	}
	return s.Answer.Outcome.Margin
}

// Cells are the answer's effects over a trait, at distances from its mean in
// standard deviations. They are one screen: a cell is a finding only if it
// stands out of all of them.
func (s *Stored) Cells(trait string, at []float64) ([]fleet.Cell, error) {
	cells, err := s.Answer.Map(trait, at)
	if err != nil {
		return nil, err
	}
	p := make([]float64, len(cells))
	for i := range cells {
		p[i] = cells[i].Effect.P
	}
	for i, q := range fleet.BenjaminiHochberg(p) {
		e := &cells[i].Effect
		s.Answer.Judge(e, q)
	}
	return cells, nil
}

// MapAt is where a map looks at a trait, in standard deviations from its mean.
var MapAt = []float64{-2, -1, 0, 1, 2}

// EffectsCSV writes effects as a table: changes in the outcome's own scale (a
// logarithm for spreads) and as shown; what was drawn by lot and what was chosen in the
// outcome's own scale, empty where too few players drew.
func EffectsCSV(w io.Writer, s *Stored, effects []fleet.Effect) error {
	out := csv.NewWriter(w)
	value := func(x *float64) string {
		if x == nil {
			return ""
		}
		return strconv.FormatFloat(*x, 'g', -1, 64)
	}
	rows := [][]string{{"answer", "term", "attribute", "trait", "step", "change", "se", "ci_low", "ci_high", "pi_low", "pi_high", "p",
		"adjusted_p", "shown", "shown_low", "shown_high", "shown_unit", "share_gain", "players", "levels", "way", "evidence", "margin",
		"margin_at", "p_within_margin", "p_beyond_margin", "close_call", "change_m", "change_low_m", "change_high_m", "by_lot", "lot_change",
		"lot_se", "lot_players", "chosen_change", "chosen_se", "chosen_players", "lot_less_chosen", "lot_less_chosen_se",
		"lot_less_chosen_p", "lot_less_chosen_adjusted_p", "hidden_reason"}}
	for _, e := range effects {
		x := s.Show(e)
		choice := make([]string, 10)
		if c := e.Choice; c != nil {
			choice = []string{value(&c.Lot.Change), value(&c.Lot.SE), strconv.Itoa(c.Lot.Players), value(&c.Chosen.Change), value(&c.Chosen.SE),
				strconv.Itoa(c.Chosen.Players), value(&c.Difference), value(&c.SE), value(&c.P), value(&c.Q)}
		}
		rows = append(rows, []string{s.ID, e.Term, e.Attribute, e.Trait, e.Step, value(&e.Change), value(&e.SE), value(&e.Low), value(&e.High),
			value(e.PILow), value(e.PIHigh), value(&e.P), value(&e.Q),
			value(&x.Value), value(&x.Low), value(&x.High), s.Unit(), value(e.Gain), strconv.Itoa(e.Players), strconv.Itoa(e.Sessions),
			e.Way, e.Evidence, e.Margin, value(&e.Bound), value(&e.PWithin), value(&e.PBeyond), strings.Join(e.Close, " and "), value(e.Metres),
			value(e.MetresLow), value(e.MetresHigh), strconv.FormatBool(e.ByLot)})
		rows[len(rows)-1] = append(append(rows[len(rows)-1], choice...), value(e.Hidden))
	}
	for i := range rows {
		cell.Row(rows[i])
	}
	return out.WriteAll(rows)
}
