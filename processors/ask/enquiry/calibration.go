package enquiry

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/ClickHouse/clickhouse-go/v2/lib/driver"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
)

// soon is up to how many days after the verdict a check counts as one at collection.
const soon = 60

// check is one promise with what came of it.
type check struct {
	outcome, fitter, compared string
	days                      int64
	fleet.HitCheck
}

// calibration asks whether promises hold: all of them, by fitter, by what they were
// held against, and soon or months later.
func calibration(ctx context.Context, d *desk, t *Table) error {
	all, err := d.checks(ctx)
	if err != nil {
		return err
	}
	if len(all) == 0 {
		return tooLittle("no delivered club was hit again", "hit delivered clubs at collection and later")
	}
	t.Columns = []Column{{"outcome", "outcome", "", Text}, {"by", "by", "", Text}, {"name", "which", "", Text}, {"short",
		"promised too much", "", Change},
		{"ci_low", "95 % from", "", Change}, {"ci_high", "to", "", Change}, {"unit", "in", "", Text}, {"q", "adjusted p", "", Odds},
		{"inside", "within the promise", "", Share}, {"checks", "checks", "", Count}, {"players", "players", "", Count}}
	t.Plot = &Plot{Group: "by", Label: "name", Value: "short", Low: "ci_low", High: "ci_high",
		Unit: "promised too much, % of the spread of directions", Better: -1}
	players := map[string]bool{}
	for _, c := range all {
		players[c.Player] = true
	}
	t.Trials, t.Players = len(all), len(players)
	for _, o := range glossary.FleetOutcomes() {
		if len(o.In) == 0 {
			continue
		}
		if err := d.kept(ctx, t, o, all); err != nil {
			return err
		}
	}
	if len(t.Rows) == 0 {
		return tooLittle("fewer than three checks of any outcome", "hit delivered clubs at collection and later")
	}
	t.note("promised too much is positive where clubs turned out worse than was said; within is the share of checks inside the " +
		"promise's 95 %% interval, the check's own error included; " +
		"at collection: within sixty days of the verdict")
	return nil
}

// kept adds the rows of one outcome.
func (d *desk) kept(ctx context.Context, t *Table, of glossary.Outcome, all []check) error {
	o, _ := fleet.FindOutcome(of.Fleet.Name)
	s := shown{o, o.Unit}
	if o.Log {
		s.unit = "%"
	}
	type group struct {
		by, name string
		is       func(check) bool
	}
	groups := []group{{"all", "all", func(check) bool { return true }}}
	var fitters, kinds []string
	for _, c := range all {
		fitters, kinds = append(fitters, c.fitter), append(kinds, c.compared)
	}
	slices.Sort(fitters)
	slices.Sort(kinds)
	for _, f := range slices.Compact(fitters) {
		groups = append(groups, group{"fitter", f, func(c check) bool { return c.fitter == f }})
	}
	for _, k := range slices.Compact(kinds) {
		groups = append(groups, group{"held against", "the own club, " + k, func(c check) bool { return c.compared == k }})
	}
	groups = append(groups, group{"hit again", "at collection", func(c check) bool { return c.days <= soon }},
		group{"hit again", "later", func(c check) bool { return c.days > soon }})
	var p []float64
	from := len(t.Rows)
	for _, g := range groups {
		var some []fleet.HitCheck
		for _, c := range all {
			if c.outcome == string(of.Name) && g.is(c) {
				some = append(some, c.HitCheck)
			}
		}
		r, err := fleet.Promises(ctx, o, some)
		var few *fleet.ModelError
		if errors.As(err, &few) {
			continue
		}
		if err != nil {
			return err
		}
		// A shortfall of logarithms is one of percent.
		e := r.Shortfall
		t.Add(T(answers.OutcomeTitle(o.Name)), T(g.by), T(g.name), N(s.of(e.Value)), N(s.of(e.CILow)), N(s.of(e.CIHigh)), T(s.unit), N(e.P),
			N(r.Inside),
			C(r.Checks), C(r.Players))
		p = append(p, e.P)
		if g.by == "all" {
			word := "hold"
			if e.P < 0.05 && e.Value > 0 {
				word = "are too large"
			} else if e.P < 0.05 {
				word = "are too small"
			}
			t.say("Promises of %s %s: on average %s (%s) in %d checks of %d players; %.0f %% lie within what was promised.",
				answers.OutcomeTitle(o.Name), word, off(s.of(e.Value), s.unit), s.interval(e.CILow, e.CIHigh), r.Checks, r.Players, 100*r.Inside)
		}
	}
	for i, q := range fleet.BenjaminiHochberg(p) {
		row := t.Rows[from+i]
		row[t.Place("q")] = N(q)
		if q <= fleet.FalseDiscovery && row[1].Text == "fitter" {
			t.say("%s promises %s of %s (adjusted p %s).", row[2].Text, off(row[3].Number, s.unit), row[0].Text, odds(q))
		}
	}
	return nil
}

// off says by how much promises are off, too much where x is above 0.
func off(x float64, unit string) string {
	word := "much"
	if x < 0 {
		word = "little"
	}
	return fmt.Sprintf("%.1f %s too %s", math.Abs(x), unit, word)
}

func (d *desk) checks(ctx context.Context) ([]check, error) {
	var out []check
	err := d.rows(ctx, question.Checked(d.of.Filter.Trade("decided")), func(r driver.Rows) error {
		var c check
		var low, high, se float64
		if err := r.Scan(&c.outcome, &c.Player, &c.fitter, &c.compared, &c.days, &c.Promised, &low, &high, &c.Measured, &se); err != nil {
			return err
		}
		if !(se > 0) || math.IsInf(se, 0) || math.IsNaN(c.Measured) || math.IsInf(c.Measured, 0) {
			return nil // shots without any scatter say nothing
		}
		c.PromisedSD, c.Variance = max(high-low, 0)/(2*1.959964), se*se
		out = append(out, c)
		return nil
	})
	return out, err
}
