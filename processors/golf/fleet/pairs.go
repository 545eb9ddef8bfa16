package fleet

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"
)

// PairEffect is what two attributes do together beyond what each does alone: the
// change for one step of both, less the two steps apart.
type PairEffect struct {
	A      Attribute `json:"-"`
	B      Attribute `json:"-"`
	Change float64   `json:"change"`
	SE     float64   `json:"se"`
	Low    float64   `json:"ci_low"`
	High   float64   `json:"ci_high"`
	P      float64   `json:"p"`
	Q      float64   `json:"q"` // adjusted over all pairs
	Levels int       `json:"levels"`
}

// Pairs looks at all pairs of a design's attributes at once, beside each one alone,
// curvature and order, with slopes of the players' own and the effects that players
// share. Pairs that never vary
// together within a level, or follow from the rest, are left out.
func Pairs(ctx context.Context, trials []Trial, q Question) ([]PairEffect, error) {
	o, ok := FindOutcome(q.Outcome)
	if !ok {
		return nil, &ModelError{Terms: []string{q.Outcome}, Reason: "there is no such outcome", Try: "use " + OutcomeWords()}
	}
	q.Traits = []string{}
	order := hitOrder(trials)
	var look Survey
	for _, i := range order {
		look.Add(&trials[i])
	}
	d, _, err := look.Design(q)
	if err != nil {
		return nil, err
	}
	noise := look.Noise(q)
	m := d.model(q)
	m.Compact = false
	var pairs []PairEffect
	for i, a := range d.Attributes {
		for _, b := range d.Attributes[i+1:] {
			name := a.Name() + "*" + b.Name()
			m.Terms = append(m.Terms, Term{name, len(m.Columns), -1})
			m.Columns = append(m.Columns, name)
			pairs = append(pairs, PairEffect{A: a, B: b})
		}
	}
	data, levels, err := pairRows(trials, order, d, m, o, noise)
	if err != nil {
		return nil, err
	}
	f, err := data.fitWhatVaries(ctx, Options{Test: KnappHartung, Level: q.Level, Workers: q.Workers})
	if err != nil {
		return nil, err
	}
	var out []PairEffect
	var p []float64
	for _, x := range pairs {
		for _, e := range f.Terms {
			if name := x.A.Name() + "*" + x.B.Name(); e.Name == name {
				x.Change, x.SE, x.Low, x.High, x.P, x.Levels = e.Value, e.SE, e.CILow, e.CIHigh, e.P, levels[name]
				out, p = append(out, x), append(p, e.P)
			}
		}
	}
	for i, v := range BenjaminiHochberg(p) {
		out[i].Q = v
	}
	slices.SortStableFunc(out, func(a, b PairEffect) int { return cmp.Compare(a.P, b.P) })
	return out, nil
}

// fitWhatVaries fits, and takes terms out that the rows cannot carry, one by one.
func (d *Data) fitWhatVaries(ctx context.Context, o Options) (*Fit, error) {
	for {
		f, err := d.Fit(ctx, o)
		var bad *ModelError
		if err == nil || !errors.As(err, &bad) || (bad.Kind != Idle && bad.Kind != Collinear) || len(bad.Terms) == 0 || len(d.Terms) == 1 {
			return f, err
		}
		d = d.without(bad.Terms[len(bad.Terms)-1])
	}
}

// pairRows are the rows of the model with a product for each pair, and in how many
// levels each of those varies.
func pairRows(trials []Trial, order []int, d *Design, m Model, o Outcome, noise Noise) (*Data, map[string]int, error) {
	b, err := NewBuilder(m)
	if err != nil {
		return nil, nil, err
	}
	levels, seen := map[string]int{}, map[string]bool{}
	shared := newReader(d.Shared)
	width := d.width()
	row, first := make([]float64, len(m.Columns)), make([]float64, len(m.Columns))
	var last, before *Trial
	begins := false
	for _, i := range order {
		t := &trials[i]
		y, v, ok := o.Value(t, noise)
		if !ok || d.fill(row[:width], t.Attributes) != nil {
			continue
		}
		if last == nil || last.Player != t.Player {
			if err := b.Player(t.Player, nil); err != nil {
				return nil, nil, err
			}
		}
		if last == nil || last.Player != t.Player || last.Session != t.Session || last.Level != t.Level {
			if err := b.Session(0); err != nil {
				return nil, nil, err
			}
			clear(seen)
			begins = true
			if last == nil || last.Session != t.Session {
				before = nil
			}
		}
		if d.Order {
			w := d.OrderColumns(t, before)
			copy(row[width-3:width], w[:])
		}
		k := width
		for i := range d.Attributes {
			for j := i + 1; j < len(d.Attributes); j++ {
				row[k] = row[i] * row[j]
				k++
			}
		}
		if begins {
			begins = false
			copy(first, row)
		}
		for k := width; k < len(row); k++ {
			if name := m.Columns[k]; !seen[name] && math.Abs(row[k]-first[k]) > 1e-9 {
				seen[name] = true
				levels[name]++
			}
		}
		if err := b.Row(y, v, row, shared.read(t)...); err != nil {
			return nil, nil, err
		}
		last, before = t, t
	}
	if last == nil {
		return nil, nil, &ModelError{Kind: NotEnough, Terms: []string{"not enough to say"}, Reason: "no trial knows its build",
			Try: "widen the filters"}
	}
	return b.Data(), levels, nil
}
