package fleet

import (
	"context"
	"fmt"
)

// HitCheck holds the promise of a verdict against what the delivered club did.
// Changes are against the same incumbent, in the outcome's own scale.
type HitCheck struct {
	Player     string
	Promised   float64 // the change that the frozen verdict expected
	PromisedSD float64 // its standard deviation
	Measured   float64 // the change at the hit check
	Variance   float64 // sampling variance of Measured
}

// PromiseReport is promise against reality over all players.
type PromiseReport struct {
	Checks  int `json:"checks"`
	Players int `json:"players"`
	// Shortfall is the mean of promised less measured improvement, positive
	// where clubs were promised better than they are: the winner's curse.
	Shortfall Estimate `json:"shortfall"`
	// Slope of measured on promised change; 1 means that promises keep their
	// size, 0 that they mean nothing. Absent below ten checks.
	Slope *Estimate `json:"slope,omitempty"`
	// Inside is the share of checks within the promise's 95 % interval, its own
	// and the check's error together.
	Inside float64 `json:"inside"`
}

// Promises measures the winner's curse for an outcome.
func Promises(ctx context.Context, o Outcome, checks []HitCheck) (*PromiseReport, error) {
	if len(checks) < 3 {
		return nil, &ModelError{Kind: NotEnough, Terms: []string{"not enough to say"}, Reason: fmt.Sprintf("%d hit checks", len(checks)),
			Try: "at least three; hit delivered clubs at collection and later"}
	}
	gap := &Table{Columns: map[string][]float64{"promised": nil}}
	real := &Table{Columns: gap.Columns}
	players := map[string]bool{}
	r := &PromiseReport{Checks: len(checks)}
	for i, c := range checks {
		if !finite(c.Promised) || !finite(c.Measured) || !(c.Variance > 0) || !(c.PromisedSD >= 0) || !finite(c.Variance) ||
			!finite(c.PromisedSD) {
			return nil, fmt.Errorf("hit check %d of player %q: a number is missing or a variance is not above 0", i+1, c.Player)
		}
		players[c.Player] = true
		gap.Player = append(gap.Player, c.Player)
		gap.Y = append(gap.Y, (c.Promised-c.Measured)*o.Better)
		gap.V = append(gap.V, c.Variance)
		real.Y = append(real.Y, c.Measured)
		gap.Columns["promised"] = append(gap.Columns["promised"], c.Promised)
		d := c.Measured - c.Promised
		if d*d <= 1.96*1.96*(c.PromisedSD*c.PromisedSD+c.Variance) {
			r.Inside += 1 / float64(len(checks))
		}
	}
	real.Player, real.V = gap.Player, gap.V
	r.Players = len(players)
	fit := func(t *Table, s Spec) (*Fit, error) {
		s.Intercept = true
		d, _, err := t.Data(s)
		if err != nil {
			return nil, err
		}
		return d.Fit(ctx, Options{Test: KnappHartung})
	}
	f, err := fit(gap, Spec{})
	if err != nil {
		return nil, fmt.Errorf("shortfall: %w", err)
	}
	r.Shortfall = f.Terms[0]
	r.Shortfall.Name = "shortfall"
	if len(checks) >= 10 {
		// Equal promises have no slope; that is not an error of the report.
		if f, err := fit(real, Spec{Fixed: []string{"promised"}}); err == nil {
			e := f.Terms[1]
			e.Name = "slope"
			r.Slope = &e
		} else if ctx.Err() != nil {
			return nil, err
		}
	}
	return r, nil
}
