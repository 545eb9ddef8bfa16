package fleet

import (
	"context"
	"errors"
	"fmt"
)

// Variation is one reasonable choice under which a question could have been
// asked as well.
type Variation struct {
	Group string // exclusions, ball, bay, studio, model
	Name  string
	// Keep picks trials; nil keeps all.
	Keep func(*Trial) bool
	// Trials replaces the trials, where the choice changes their shots (with
	// exclusions counted in, say); nil uses those given.
	Trials []Trial
	// Change alters the question; nil leaves it.
	Change func(*Question)
}

// SheetRow is the answer under one variation.
type SheetRow struct {
	Group   string  `json:"group"`
	Name    string  `json:"name"`
	Term    string  `json:"term"`
	Change  float64 `json:"change"`
	Low     float64 `json:"ci_low"`
	High    float64 `json:"ci_high"`
	Players int     `json:"players"`
	Trials  int     `json:"trials"`
	Says    string  `json:"says"`
	// Agrees: the interval overlaps the first row's estimate and the sign is not
	// turned with confidence.
	Agrees bool   `json:"agrees"`
	Refuse string `json:"refused,omitempty"` // why there is no answer
}

// Variations lists the usual ones for these trials: every studio, bay, fitter
// and ball left out in turn, trials with exclusions left out, short trials left
// out, and the model with more and with less in it.
func Variations(trials []Trial) []Variation {
	var out []Variation
	leave := func(group string, get func(*Trial) string) {
		seen := map[string]int{}
		for i := range trials {
			if v := get(&trials[i]); v != "" {
				seen[v]++
			}
		}
		if len(seen) < 2 {
			return
		}
		for _, v := range sortedKeys(seen) {
			out = append(out, Variation{Group: group, Name: "without " + v, Keep: func(t *Trial) bool { return get(t) != v }})
		}
	}
	out = append(out,
		Variation{Group: "exclusions", Name: "no trial with a shot left out", Keep: func(t *Trial) bool { return t.Shots.Excluded == 0 }},
		Variation{Group: "exclusions", Name: "trials of at least eight shots", Keep: func(t *Trial) bool { return t.Shots.N >= 8 }},
		Variation{Group: "exclusions", Name: "no trial within the first ten shots", Keep: func(t *Trial) bool { return t.FirstShot > 10 }},
		Variation{Group: "exclusions", Name: "no trial under an instruction", Keep: func(t *Trial) bool { return t.Instruction == "" }},
	)
	leave("ball", func(t *Trial) string { return t.Ball })
	leave("bay", func(t *Trial) string {
		if t.Bay == "" {
			return ""
		}
		return t.Studio + "/" + t.Bay
	})
	leave("studio", func(t *Trial) string { return t.Studio })
	leave("fitter", func(t *Trial) string { return t.Fitter })
	return append(out,
		Variation{Group: "model", Name: "no traits", Change: func(q *Question) { q.Traits = []string{} }},
		Variation{Group: "model", Name: "no curvature", Change: func(q *Question) { q.NoCurvature = true }},
		Variation{Group: "model", Name: "no order", Change: func(q *Question) { q.NoOrder = true }},
		Variation{Group: "model", Name: "no slopes by player", Change: func(q *Question) { q.NoSlopes = true }},
		Variation{Group: "model", Name: "slopes that may correlate", Change: func(q *Question) { q.FullCovariance = true }},
		Variation{Group: "model", Name: "normal intervals", Change: func(q *Question) { q.Test = Normal }},
	)
}

// Robustness asks the question for one attribute under every variation, the
// plain question first. A variation that cannot be answered stays on the sheet
// with the reason.
func Robustness(ctx context.Context, trials []Trial, q Question, attribute Attribute, variations []Variation) ([]SheetRow, error) {
	all := append([]Variation{{Group: "as asked", Name: "as asked"}}, variations...)
	var out []SheetRow
	for _, v := range all {
		use := trials
		if v.Trials != nil {
			use = v.Trials
		}
		if v.Keep != nil {
			var kept []Trial
			for i := range use {
				if v.Keep(&use[i]) {
					kept = append(kept, use[i])
				}
			}
			use = kept
		}
		asked := q
		if v.Change != nil {
			v.Change(&asked)
		}
		row := SheetRow{Group: v.Group, Name: v.Name, Term: attribute.Name(), Says: SaysNotEnough}
		a, err := Ask(ctx, use, asked)
		var m *ModelError
		switch {
		case errors.As(err, &m):
			row.Refuse = err.Error()
		case err != nil:
			return nil, fmt.Errorf("%s, %s: %w", v.Group, v.Name, err)
		default:
			row.Players, row.Trials = a.Fit.Players, a.Trials
			effects, err := a.Effects(Person{})
			if err != nil {
				return nil, err
			}
			row.Refuse = attribute.Name() + " never varies between trials that may be compared"
			for _, e := range effects {
				if e.Term == attribute.Name() {
					row.Change, row.Low, row.High, row.Says, row.Refuse = e.Change, e.Low, e.High, e.Says, ""
				}
			}
		}
		if row.Refuse == "" && len(out) > 0 && out[0].Refuse == "" {
			base := out[0]
			row.Agrees = row.Low <= base.Change && base.Change <= row.High || (row.Change > 0) == (base.Change > 0) && base.Low <= row.Change && row.Change <= base.High
		}
		if len(out) == 0 {
			row.Agrees = row.Refuse == ""
		}
		out = append(out, row)
	}
	return out, nil
}
