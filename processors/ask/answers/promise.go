package answers

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/fleet"
)

// Kept is promise against reality for one outcome.
type Kept struct {
	Outcome  string               `json:"outcome"` // as verdicts name it
	Category string               `json:"category,omitempty"`
	Checks   int                  `json:"checks"`
	Beside   int                  `json:"checked_beside_incumbent"` // in one session with the incumbent
	Report   *fleet.PromiseReport `json:"report,omitempty"`
	Refused  string               `json:"refused,omitempty"`
	Points   []Promise            `json:"points"`
}

// Promise is one verdict's promise and what came of it, candidate less
// incumbent, in the outcome's own scale.
type Promise struct {
	Verdict  string  `json:"verdict"`
	Studio   string  `json:"studio"`
	Player   string  `json:"player"`
	Build    string  `json:"build"`
	Trial    string  `json:"trial"`
	Check    string  `json:"check_trial"`
	Promised float64 `json:"promised"`
	Low      float64 `json:"promised_low"`
	High     float64 `json:"promised_high"`
	Measured float64 `json:"measured"`
	SE       float64 `json:"se"`
	Compared string  `json:"compared"`
}

// promised are the outcomes that verdicts promise and the fleet knows.
func promised() []glossary.Outcome {
	return slices.DeleteFunc(glossary.FleetOutcomes(), func(o glossary.Outcome) bool { return len(o.In) == 0 })
}

// Promises holds verdicts against the hit checks of delivered clubs, over all
// players of a category (empty: all), by outcome.
func (f *Fleet) Promises(ctx context.Context, category string) ([]Kept, error) {
	if err := (Filter{Category: category}).Check(); err != nil {
		return nil, err
	}
	points, err := Checked(ctx, f.store.Conn(), Asked{Category: category})
	if err != nil {
		return nil, err
	}
	var out []Kept
	for _, o := range promised() {
		k, err := kept(ctx, category, o, points[string(o.Name)])
		if err != nil {
			return nil, err
		}
		out = append(out, k)
	}
	return out, nil
}

// kept holds the promises of one outcome against what came of them.
func kept(ctx context.Context, category string, of glossary.Outcome, points []Promise) (k Kept, err error) {
	k = Kept{Outcome: string(of.Name), Category: category, Checks: len(points), Points: append([]Promise{}, points...)}
	var checks []fleet.HitCheck
	for _, p := range points {
		if p.Compared == "same session" {
			k.Beside++
		}
		// A verdict's interval is one of 95 %.
		checks = append(checks, fleet.HitCheck{Player: p.Player, Promised: p.Promised, PromisedSD: math.Max(p.High-p.Low, 0) / (2 * 1.959964),
			Measured: p.Measured, Variance: p.SE * p.SE})
	}
	o, _ := fleet.FindOutcome(of.Fleet.Name)
	k.Report, err = fleet.Promises(ctx, o, checks)
	if m, ok := refusal(err); ok {
		k.Refused, err = m, nil
	}
	return k, err
}

// refusal is why there is not enough to say.
func refusal(err error) (string, bool) {
	var m *fleet.ModelError
	if errors.As(err, &m) {
		return strings.TrimPrefix(err.Error(), fleet.TooLittle+": "), true
	}
	return "", false
}
