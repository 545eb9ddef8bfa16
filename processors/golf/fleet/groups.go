package fleet

import (
	"cmp"
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Groups are the properties by which an effect is looked at apart, with how a
// trial has them.
var Groups = []struct {
	Name string
	Of   func(*Trial) string
}{
	{"studio", func(t *Trial) string { return t.Studio }},
	{"bay", func(t *Trial) string {
		if t.Bay == "" {
			return ""
		}
		return t.Studio + "/" + t.Bay
	}},
	{"fitter", func(t *Trial) string { return t.Fitter }},
	{"ball", func(t *Trial) string { return t.Ball }},
	{"month", func(t *Trial) string { return t.Month }},
}

// GroupEffect is one step of an attribute in one studio, bay, fitter's hands,
// month or with one ball.
type GroupEffect struct {
	Group string `json:"group"`
	Name  string `json:"name"`
	// Apart is the effect by the group's own trials alone, Pooled that drawn
	// toward the whole fleet's by as much as its own trials leave open: what to
	// expect there next time. The rest of the model is the whole fleet's.
	Apart      float64 `json:"apart"`
	ApartSE    float64 `json:"apart_se"`
	Low        float64 `json:"apart_ci_low"`
	High       float64 `json:"apart_ci_high"`
	Pooled     float64 `json:"pooled"`
	PooledLow  float64 `json:"pooled_ci_low"`
	PooledHigh float64 `json:"pooled_ci_high"`
	P          float64 `json:"p"` // of a difference from the fleet
	Q          float64 `json:"q"` // adjusted over all groups of the kind
	Differs    bool    `json:"differs"`
	Players    int     `json:"players"`
	Sessions   int     `json:"levels"`
}

// Heterogeneity says whether the groups of a kind differ at all: Cochran's Q and
// the variance between groups by the method of moments (DerSimonian & Laird,
// Control. Clin. Trials 7:177, 1986).
type Heterogeneity struct {
	Group  string  `json:"group"`
	Groups int     `json:"groups"`
	P      float64 `json:"p"`
	SD     float64 `json:"sd_between"` // of the effect, in the outcome's own scale
}

// ByGroup looks at one step of an attribute apart by every property that has
// two values or more.
func ByGroup(ctx context.Context, a *Answer, trials []Trial, attribute Attribute) ([]GroupEffect, []Heterogeneity, error) {
	p, err := newParts(ctx, a, trials)
	if err != nil {
		return nil, nil, err
	}
	w, n := a.Fit.work, a.Fit.work.effects()
	at := -1
	for k, i := range w.order {
		if w.Terms[i].Name == attribute.Name() {
			at = k
		}
	}
	if at < 0 {
		return nil, nil, &ModelError{Kind: Idle, Terms: []string{attribute.Name()},
			Reason: "it never varies between trials that may be compared",
			Try:    "ask about another attribute"}
	}
	fleet := a.Fit.Terms[w.order[at]].Value
	unit := w.sc.y / w.termScale(at)
	whole := w.wholeFleet(a.Fit.final.beta)
	crit := distuv.UnitNormal.Quantile(0.975)
	var out []GroupEffect
	var kinds []Heterogeneity
	for _, g := range Groups {
		sets := p.groups(g.Of)
		if len(sets) < 2 {
			continue
		}
		var rows []GroupEffect
		for _, name := range sortedKeys(sets) {
			t, d, err := p.sum(ctx, sets[name], func(t *Trial) bool { return g.Of(t) == name })
			if err != nil {
				return nil, nil, err
			}
			info := t.xx[at*n+at]
			if !(info > 1e-9) {
				continue // never varied there
			}
			// What the group says beyond the fleet's coefficients.
			score := t.xy[at] - dot(t.xx[at*n:(at+1)*n], whole)
			e := GroupEffect{Group: g.Name, Name: name, Apart: fleet + score/info*unit, ApartSE: sqrt(a.Fit.Scale/info) * unit,
				Players:  d.Players(),
				Sessions: d.Sessions()}
			e.Low, e.High = e.Apart-crit*e.ApartSE, e.Apart+crit*e.ApartSE
			rows = append(rows, e)
		}
		kind := shrink(rows, fleet, a.Fit.Terms[w.order[at]].SE, crit)
		if kind.Group = g.Name; kind.Groups >= 2 {
			out, kinds = append(out, rows...), append(kinds, kind)
		}
	}
	return out, kinds, nil
}

// shrink draws groups toward the fleet's effect, which is known within se, and tests
// each against it.
func shrink(rows []GroupEffect, fleet, se, crit float64) Heterogeneity {
	h := Heterogeneity{Groups: len(rows), P: 1}
	if len(rows) < 2 {
		return h
	}
	sw, sw2, swx := 0.0, 0.0, 0.0
	for _, r := range rows {
		w := 1 / (r.ApartSE * r.ApartSE)
		sw, sw2, swx = sw+w, sw2+w*w, swx+w*r.Apart
	}
	q := 0.0
	for _, r := range rows {
		q += (r.Apart - swx/sw) * (r.Apart - swx/sw) / (r.ApartSE * r.ApartSE)
	}
	df := float64(len(rows) - 1)
	between := max(0, (q-df)/(sw-sw2/sw))
	h.P, h.SD = distuv.ChiSquared{K: df}.Survival(q), math.Sqrt(between)
	var p []float64
	for i := range rows {
		r := &rows[i]
		v := r.ApartSE * r.ApartSE
		keep := between / (between + v)
		r.Pooled = fleet + keep*(r.Apart-fleet)
		half := crit * math.Sqrt(between*(1-keep)+(1-keep)*(1-keep)*se*se)
		r.PooledLow, r.PooledHigh = r.Pooled-half, r.Pooled+half
		// The group is part of the fleet it is held against.
		share := min(1/v/sw, 0.999)
		r.P = 2 * distuv.UnitNormal.Survival(math.Abs(r.Apart-fleet)/math.Sqrt(v*(1-share)))
		p = append(p, r.P)
	}
	for i, q := range BenjaminiHochberg(p) {
		rows[i].Q, rows[i].Differs = q, q <= FalseDiscovery
	}
	slices.SortStableFunc(rows, func(a, b GroupEffect) int { return cmp.Compare(a.Name, b.Name) })
	return h
}

func sqrt(x float64) float64 { return math.Sqrt(max(x, 0)) }
