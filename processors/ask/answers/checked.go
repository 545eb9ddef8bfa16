package answers

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/ClickHouse/clickhouse-go/v2"
	"github.com/ClickHouse/clickhouse-go/v2/lib/driver"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/dispersion"
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
// and trials again in each of its parts, cannot tell the store which sessions it needs, and
// costs it more to understand than to answer.
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
		var r checkedTrial
		var studio string
		if err := rows.Scan(&studio, &g.session, &g.trial, &g.level, &g.build, &g.last, &r.category, &r.landing, &r.carry, &r.scatter[0],
			&r.scatter[1], &r.scatter[2], &r.directed, &r.directionSS, &r.fields, &r.n, &r.mean, &r.ss); err != nil {
			return t, fmt.Errorf("hit checks: %w", err)
		}
		r.outcomes(func(outcome string, value float64, variance *float64) {
			at := [3]string{studio, g.trial, outcome}
			if have, is := t.one[at]; is && have.session == g.session {
				return // its part with more shots
			}
			of := g
			of.value, of.variance = value, variance
			t.one[at] = of
			in := [3]string{studio, g.session, outcome}
			t.all[in] = append(t.all[in], of)
		})
	}
	return t, rows.Err()
}

// checkedTrial is what is stored of a trial that its outcomes are made of.
type checkedTrial struct {
	category          string
	landing, directed uint32
	carry             float64    // m
	scatter           [3]float64 // of carry and offline, m²
	directionSS       float64    // deg²
	fields            []uint8
	n                 []uint32
	mean, ss          []float64
}

// outcomes gives what a trial gave of each outcome, in the units of the view
// trial_outcomes; a nil variance: it is not known.
func (r *checkedTrial) outcomes(give func(outcome string, value float64, variance *float64)) {
	for _, m := range []struct {
		outcome string
		field   event.Field
	}{{"launch", event.Field_FIELD_LAUNCH_ANGLE}, {"spin", event.Field_FIELD_SPIN_RATE}, {"ball_speed", event.Field_FIELD_BALL_SPEED},
		{"landing", event.Field_FIELD_LANDING_ANGLE}} {
		if n, mean, ss, ok := r.field(m.field); ok {
			give(m.outcome, mean, varianceOfMean(ss, n))
		}
	}
	flight := dispersion.Scatter{N: int(r.landing), Mean: [2]float64{r.carry, 0}, A: r.scatter}
	if r.landing > 0 {
		give("carry", r.carry, varianceOfMean(r.scatter[0], r.landing))
	}
	line := dispersion.Scatter{N: int(r.directed), A: [3]float64{r.directionSS, 0, 0}}
	if y, v, err := line.AxisSpreadLn(0); err == nil {
		give("direction", y, &v)
	}
	if glossary.Category(r.category) == glossary.Putter {
		if n, mean, ss, ok := r.field(event.Field_FIELD_BALL_SPEED); ok && n > 1 && ss > 0 && mean > 0 {
			v := 1 / (2 * float64(n-1))
			give("distance_control", math.Log(100*math.Sqrt(ss/float64(n-1))/mean), &v)
		}
	} else if y, v, err := flight.AxisSpreadLn(0); err == nil && r.carry > 0 {
		give("distance_control", y+math.Log(100/r.carry), &v)
	}
	if y, v, err := flight.SpreadLn(); err == nil && r.carry > 0 {
		give("area", y-math.Log(r.carry*r.carry*math.Pi/18000), &v)
	}
}

// field is a measured field's count, mean and sum of squares about it.
func (r *checkedTrial) field(f event.Field) (n uint32, mean, ss float64, ok bool) {
	i := slices.Index(r.fields, uint8(f))
	if i < 0 {
		return 0, 0, 0, false
	}
	return r.n[i], r.mean[i], r.ss[i], true
}

// varianceOfMean is that of a mean of n, from the sum of squares about it; nil below two.
func varianceOfMean(ss float64, n uint32) *float64 {
	if n < 2 {
		return nil
	}
	v := ss / float64(n-1) / float64(n)
	return &v
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
