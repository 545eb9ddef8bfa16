package fleet

import (
	"fmt"
	"math"
	"net/url"
	"strconv"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// bandRow is one profile band of the form: a trait to pick, with its ends in the
// reader's unit.
type bandRow struct{ Trait, Low, High string }

// traitChoice is a trait to pick, with the range that the fleet has.
type traitChoice struct{ Trait, Label string }

// traitUnit is the unit in which a reader types a trait, and whether the stored
// value is its logarithm.
func (w words) traitUnit(trait string) (u figure.Unit, log bool) {
	switch trait {
	case "speed_mps":
		return w.Speed(), false
	case "strike_scatter_ln":
		return w.Small(), true
	case "strike_x_m", "strike_y_m":
		return w.Small(), false
	case "tempo_ratio":
		return figure.In("", 1, 2), false
	}
	return figure.In("°", 1, 1), false
}

// bandRows writes a question's bands for the form, with an empty row after them.
func (w words) bandRows(bands []answers.Band) []bandRow {
	var out []bandRow
	for _, b := range bands {
		u, log := w.traitUnit(b.Trait)
		end := func(x *float64) string {
			if x == nil {
				return ""
			}
			v := *x
			if log {
				v = math.Exp(v)
			}
			return strconv.FormatFloat(v*u.Factor, 'g', 7, 64)
		}
		out = append(out, bandRow{b.Trait, end(b.Low), end(b.High)})
	}
	return append(out, bandRow{})
}

func (w words) traitChoices(all []answers.TraitChoice) []traitChoice {
	var out []traitChoice
	for _, t := range all {
		out = append(out, traitChoice{t.Trait, fmt.Sprintf("%s: %s to %s, %s players", answers.TraitTitle(t.Trait), w.Trait(t.Trait, t.Low),
			w.Trait(t.Trait, t.High), count(t.Players))})
	}
	return out
}

// formBands reads the form's rows: traits with their ends in the reader's unit.
func (w words) formBands(v url.Values) ([]answers.Band, error) {
	var out []answers.Band
	lows, highs := v["band_low"], v["band_high"]
	for i, trait := range v["band_trait"] {
		if trait = strings.TrimSpace(trait); trait == "" {
			continue
		}
		b := answers.Band{Trait: trait}
		u, log := w.traitUnit(trait)
		for _, end := range []struct {
			list []string
			to   **float64
		}{{lows, &b.Low}, {highs, &b.High}} {
			if i >= len(end.list) || strings.TrimSpace(end.list[i]) == "" {
				continue
			}
			text := strings.Replace(strings.TrimSpace(end.list[i]), "−", "-", 1)
			x, err := strconv.ParseFloat(text, 64)
			if err != nil || math.IsNaN(x) || math.IsInf(x, 0) || log && x <= 0 {
				return nil, &answers.FilterError{Field: "profile band of " + answers.TraitTitle(trait), Value: text, Reason: "is no number for an end",
					Try: "write one in " + u.Name + ", or leave it empty"}
			}
			x /= u.Factor
			if log {
				x = math.Log(x)
			}
			*end.to = &x
		}
		if b.Low == nil && b.High == nil {
			continue // a trait without ends narrows nothing
		}
		if err := b.Check(); err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	return out, nil
}

// said is a finding on the page.
type said struct {
	Text string
	fleet.Verdict
	Link string
}
