package answers

import (
	"context"
	"fmt"
	"math"

	"github.com/ClickHouse/clickhouse-go/v2"
	"github.com/ClickHouse/clickhouse-go/v2/lib/driver"

	"fairlead/processors/hub/store/question"
)

// Asked says whose promises are held against their hit checks; an empty field is all.
type Asked struct{ Category, Verdict, Studio string }

// gave is what a trial gave of an outcome.
type gave struct {
	trial, session, build string
	level                 uint16
	last                  int64
	value                 float64
	variance              *float64
}

// Checked lists what came of promises, by outcome: what the view promises_checked says
// (a test holds them together), in two short questions. The view asks for the same verdicts
// and trials again in each of its parts, and cannot tell the store which sessions it needs.
// What was not measured, or has no scatter, is left out.
func Checked(ctx context.Context, conn driver.Conn, of Asked) (map[string][]Promise, error) {
	args := []any{clickhouse.Named("category", of.Category), clickhouse.Named("verdict", of.Verdict), clickhouse.Named("studio", of.Studio)}
	rows, err := conn.Query(ctx, question.Promises(), args...)
	if err != nil {
		return nil, fmt.Errorf("promises: %w", err)
	}
	defer rows.Close()
	type verdict struct {
		Promise
		baseline string
		outcomes []string
		at       [3][]float64
	}
	var verdicts []verdict
	for rows.Next() {
		var v verdict
		if err := rows.Scan(&v.Studio, &v.Verdict, &v.Player, &v.Build, &v.Trial, &v.baseline, &v.Check, &v.outcomes, &v.at[0], &v.at[1],
			&v.at[2]); err != nil {
			return nil, fmt.Errorf("promises: %w", err)
		}
		verdicts = append(verdicts, v)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("promises: %w", err)
	}
	out := map[string][]Promise{}
	if len(verdicts) == 0 {
		return out, nil
	}
	trials, err := checkedTrials(ctx, conn, args)
	if err != nil {
		return nil, err
	}
	for i := range verdicts {
		v := &verdicts[i]
		for k, outcome := range v.outcomes {
			p := v.Promise
			p.Promised, p.Low, p.High = v.at[0][k], v.at[1][k], v.at[2][k]
			if trials.measure(&p, v.baseline, outcome) {
				out[outcome] = append(out[outcome], p)
			}
		}
	}
	return out, nil
}

// trialsOf is what trials gave, by studio, trial and outcome, and by studio, session and outcome.
type trialsOf struct {
	one map[[3]string]gave
	all map[[3]string][]gave
}

func checkedTrials(ctx context.Context, conn driver.Conn, args []any) (trialsOf, error) {
	t := trialsOf{map[[3]string]gave{}, map[[3]string][]gave{}}
	rows, err := conn.Query(ctx, question.Checks(), args...)
	if err != nil {
		return t, fmt.Errorf("hit checks: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var g gave
		var studio, outcome string
		if err := rows.Scan(&studio, &g.session, &g.trial, &g.level, &g.build, &g.last, &outcome, &g.value, &g.variance); err != nil {
			return t, fmt.Errorf("hit checks: %w", err)
		}
		t.one[[3]string{studio, g.trial, outcome}] = g
		in := [3]string{studio, g.session, outcome}
		t.all[in] = append(t.all[in], g)
	}
	return t, rows.Err()
}

// measure fills in what the hit check measured of an outcome, against the incumbent: the
// last of its trials beside the delivered club, on one level, or else the verdict's own
// baseline. It says whether there is anything to compare.
func (t trialsOf) measure(p *Promise, baseline, outcome string) bool {
	hit, ok := t.one[[3]string{p.Studio, p.Check, outcome}]
	if !ok {
		return false
	}
	against, known := t.one[[3]string{p.Studio, baseline, outcome}]
	build := against.build
	p.Compared = "earlier session"
	for _, g := range t.all[[3]string{p.Studio, hit.session, outcome}] {
		if g.trial != hit.trial && g.level == hit.level && g.build == build && (p.Compared != "same session" || g.last > against.last) {
			against, known, p.Compared = g, true, "same session"
		}
	}
	if !known || hit.variance == nil || against.variance == nil {
		return false
	}
	p.Measured, p.SE = hit.value-against.value, math.Sqrt(*hit.variance+*against.variance)
	// Shots without any scatter say nothing.
	return p.SE > 0 && !math.IsInf(p.SE, 0) && !math.IsNaN(p.Measured) && !math.IsInf(p.Measured, 0)
}
