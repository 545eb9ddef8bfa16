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
	Verdict
	// Agrees: the interval overlaps the first row's estimate, the sign is not
	// turned with confidence, and the same would be said. Flips names the columns
	// of the verdict that would read otherwise.
	Agrees bool     `json:"agrees"`
	Flips  []string `json:"flips"`
	Refuse string   `json:"refused,omitempty"` // why there is no answer
}

// Variations lists the usual ones: trials with exclusions left out, short trials
// left out, and the model with more and with less in it. Every studio, bay,
// fitter, ball and month is left out in turn besides: see Robustness.
func Variations() []Variation {
	return []Variation{
		{Group: "exclusions", Name: "no trial with a shot left out", Keep: func(t *Trial) bool { return t.Shots.Excluded == 0 }},
		{Group: "exclusions", Name: "trials of at least eight shots", Keep: func(t *Trial) bool { return t.Shots.N >= 8 }},
		{Group: "exclusions", Name: "no trial within the first ten shots", Keep: func(t *Trial) bool { return t.FirstShot > 10 }},
		{Group: "exclusions", Name: "no trial under an instruction", Keep: func(t *Trial) bool { return t.Instruction == "" }},
		{Group: "choice", Name: "only what was drawn by lot", Keep: ByLot},
		{Group: "choice", Name: "only what somebody chose", Keep: ByChoice},
		{Group: "choice", Name: "nothing that the player wished for", Keep: func(t *Trial) bool { return t.Why != "player" }},
		{Group: "model", Name: "no traits", Change: func(q *Question) { q.Traits = []string{} }},
		{Group: "model", Name: "no curvature", Change: func(q *Question) { q.NoCurvature = true }},
		{Group: "model", Name: "no order", Change: func(q *Question) { q.NoOrder = true }},
		{Group: "model", Name: "no slopes by player", Change: func(q *Question) { q.NoSlopes = true }},
		{Group: "model", Name: "slopes that may correlate", Change: func(q *Question) { q.FullCovariance = true }},
		{Group: "model", Name: "mishits and devices' noise left in", Change: func(q *Question) { q.AsMeasured = true }},
		{Group: "model", Name: "normal intervals", Change: func(q *Question) { q.Test = Normal }},
	}
}

// Robustness asks the question for one attribute under every variation, the
// plain question first, and with each studio, bay, fitter, ball and month left
// out in turn. A variation that cannot be answered stays on the sheet with the
// reason.
func Robustness(ctx context.Context, trials []Trial, q Question, attribute Attribute, variations []Variation) ([]SheetRow, error) {
	var out []SheetRow
	row := func(group, name string, a *Answer, err error) error {
		r := SheetRow{Group: group, Name: name, Term: attribute.Name(), Flips: []string{}}
		var m *ModelError
		switch {
		case errors.As(err, &m):
			r.Refuse = err.Error()
		case err != nil:
			return fmt.Errorf("%s, %s: %w", group, name, err)
		default:
			if err := r.fill(a); err != nil {
				return err
			}
		}
		if len(out) > 0 {
			r.hold(&out[0])
		} else {
			r.Agrees = r.Refuse == ""
		}
		out = append(out, r)
		return nil
	}
	base, err := Ask(ctx, trials, q)
	if err := row("as asked", "as asked", base, err); err != nil {
		return nil, err
	}
	for _, v := range variations {
		use := trials
		if v.Trials != nil {
			use = v.Trials
		}
		if v.Keep != nil {
			use = those(use, v.Keep)
		}
		asked := q
		if v.Change != nil {
			v.Change(&asked)
		}
		a, err := Ask(ctx, use, asked)
		if err := row(v.Group, v.Name, a, err); err != nil {
			return nil, err
		}
	}
	if base == nil {
		return out, nil
	}
	p, err := newParts(ctx, base, trials)
	if err != nil {
		return nil, err
	}
	for _, g := range Groups {
		sets := p.groups(g.Of)
		if len(sets) < 2 {
			continue
		}
		for _, name := range sortedKeys(sets) {
			a, err := p.without(ctx, sets[name], func(t *Trial) bool { return g.Of(t) == name })
			if err := row(g.Name, "without "+name, a, err); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// fill takes one attribute's effect out of an answer.
func (r *SheetRow) fill(a *Answer) error {
	r.Players, r.Trials = a.Fit.Players, a.Trials
	r.Refuse = r.Term + " never varies between trials that may be compared"
	effects, err := a.Effects(Person{})
	for _, e := range effects {
		if e.Term == r.Term {
			r.Change, r.Low, r.High, r.Verdict, r.Refuse = e.Change, e.Low, e.High, e.Verdict, ""
		}
	}
	return err
}

// hold compares a row with the answer as asked.
func (r *SheetRow) hold(base *SheetRow) {
	if r.Refuse != "" || base.Refuse != "" {
		return
	}
	for _, c := range []struct{ name, was, is string }{
		{"way", base.Way, r.Way}, {"evidence", base.Evidence, r.Evidence}, {"margin", base.Margin, r.Margin},
	} {
		if c.was != c.is {
			r.Flips = append(r.Flips, c.name+": "+c.was+" → "+c.is)
		}
	}
	overlap := r.Low <= base.Change && base.Change <= r.High ||
		(r.Change > 0) == (base.Change > 0) && base.Low <= r.Change && r.Change <= base.High
	r.Agrees = overlap && len(r.Flips) == 0
}
