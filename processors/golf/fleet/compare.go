package fleet

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"
)

// Comparison is build against build: what B does where A was hit too.
type Comparison struct {
	Outcome string
	A, B    string
	Change  float64 // B less A, in the outcome's own scale
	SE      float64
	Low     float64
	High    float64
	PILow   *float64 // for the next player; none while one contrast a player is all there is
	PIHigh  *float64
	P       float64
	Percent *float64
	Better  float64 // chance that B is better than A for the next player
	Players int
	Levels  int // levels in which both were hit
	Trials  int
	Verdict
	Warnings []Warning
}

// Compare asks about two named builds, over the levels in which both were hit.
// Order in the session is taken out when there are enough rows for it.
func Compare(ctx context.Context, trials []Trial, outcome, buildA, buildB string) (*Comparison, error) {
	o, ok := FindOutcome(outcome)
	if !ok {
		return nil, &ModelError{Terms: []string{outcome}, Reason: "there is no such outcome", Try: "use " + OutcomeWords()}
	}
	noise := MeasureNoise(trials)
	type level struct {
		player, session string
		level           int
	}
	has := map[level][2]bool{}
	for i := range trials {
		t := &trials[i]
		if _, _, ok := o.Value(t, noise); !ok {
			continue
		}
		l := level{t.Player, t.Session, t.Level}
		h := has[l]
		h[0], h[1] = h[0] || t.Build == buildA, h[1] || t.Build == buildB
		has[l] = h
	}
	var use []*Trial
	levels := map[string]map[level]bool{}
	for i := range trials {
		t := &trials[i]
		l := level{t.Player, t.Session, t.Level}
		if h := has[l]; h[0] && h[1] && (t.Build == buildA || t.Build == buildB) {
			if _, _, ok := o.Value(t, noise); ok {
				use = append(use, t)
				if levels[t.Player] == nil {
					levels[t.Player] = map[level]bool{}
				}
				levels[t.Player][l] = true
			}
		}
	}
	if len(use) == 0 || buildA == buildB {
		return nil, &ModelError{Kind: NotEnough, Terms: []string{"not enough to say"},
			Reason: "no level holds trials of both " + buildA + " and " + buildB,
			Try:    "hit both in one session with the same ball, or compare their attributes"}
	}
	slices.SortStableFunc(use, func(a, b *Trial) int {
		return cmp.Or(strings.Compare(a.Player, b.Player), strings.Compare(a.Session, b.Session), cmp.Compare(a.Level, b.Level),
			cmp.Compare(a.Number, b.Number))
	})
	y, v := noise.steadied(o, use)
	c := &Comparison{Outcome: outcome, A: buildA, B: buildB, Players: len(levels), Trials: len(use)}
	repeat := 0
	for _, l := range levels {
		c.Levels += len(l)
		if len(l) > 1 {
			repeat++
		}
	}
	m := Model{Columns: []string{"b"}, Terms: []Term{{"b", 0, -1}}, SessionLevel: true}
	withOrder := len(use)-c.Levels > 12
	if withOrder {
		for _, n := range []string{warmUp, fatigue} {
			m.Terms = append(m.Terms, Term{n, len(m.Columns), -1})
			m.Columns = append(m.Columns, n)
		}
	}
	if c.Players >= 5 && repeat >= 3 {
		m.Random = []int{0}
	}
	var f *Fit
	for {
		b, err := NewBuilder(m)
		if err != nil {
			return nil, err
		}
		d := &Design{}
		for i, t := range use {
			if i == 0 || t.Player != use[i-1].Player {
				if err := b.Player(t.Player, nil); err != nil {
					return nil, err
				}
			}
			if i == 0 || t.Player != use[i-1].Player || t.Session != use[i-1].Session || t.Level != use[i-1].Level {
				if err := b.Session(0); err != nil {
					return nil, err
				}
			}
			row := []float64{0}
			if t.Build == buildB {
				row[0] = 1
			}
			if len(m.Columns) == 3 {
				w := d.OrderColumns(t, nil)
				row = append(row, w[0], w[1])
			}
			if err := b.Row(y[i], v[i], row); err != nil {
				return nil, err
			}
		}
		if f, err = b.Data().Fit(ctx, Options{Test: KnappHartung}); err == nil {
			break
		}
		if len(m.Columns) == 1 {
			return nil, err
		}
		// Order cannot be told apart here: ask without, and say so.
		m.Columns, m.Terms = m.Columns[:1], m.Terms[:1]
		withOrder = false
	}
	c.Warnings = f.Warnings
	if !withOrder {
		c.Warnings = append(c.Warnings, Warning{"order_unknown",
			"too few trials to take warm-up and fatigue out: whichever build was hit first may look worse for it"})
	}
	e := f.Terms[0]
	c.Change, c.SE, c.Low, c.High, c.PILow, c.PIHigh, c.P = e.Value, e.SE, e.CILow, e.CIHigh, e.PILow, e.PIHigh, e.P
	sd := e.SE
	if len(f.G) > 0 {
		sd = math.Sqrt(sd*sd + f.G[0][0])
	}
	c.Better = distuv.UnitNormal.CDF(e.Value * o.Better / sd)
	if f.DF > 0 {
		c.Better = distuv.StudentsT{Sigma: 1, Nu: f.DF}.CDF(e.Value * o.Better / sd)
	}
	if o.Log {
		c.Percent = ref(o.Percent(e.Value))
	}
	// The only thing that was looked at: its p needs no adjusting, but a finding
	// is called at five percent.
	_, tail := quantiles(f.DF, 0.95)
	q := 1.0
	if e.P < hintAt {
		q = min(2*e.P, FalseDiscovery)
	}
	c.Verdict = judge(o, e.Value, e.SE, e.P, q, o.Margin, tail)
	return c, nil
}
