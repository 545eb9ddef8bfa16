package fleet

import (
	"fmt"
	"math"
	"slices"
)

// LevelEffect is what one head, shaft, grip, ball or build does beyond its figures and
// beyond the mean of those that were met: drawn toward none by as much as its trials leave open (partial pooling), with the
// standard deviation of the prediction's error; NaN where the levels do not differ.
type LevelEffect struct {
	Factor string  `json:"factor"`
	Level  string  `json:"level"`
	Value  float64 `json:"value"`
	SD     float64 `json:"sd"`
}

// LevelEffects lists what the levels of a shared factor do, in the outcome's own
// scale; none where the fit has no such factor. It needs the rows of the fit.
func (a *Answer) LevelEffects(factor string) ([]LevelEffect, error) {
	w := a.Fit.work
	if w == nil {
		return nil, fmt.Errorf("%s: a stored fit holds no rows", factor)
	}
	f := slices.IndexFunc(a.Design.Shared, func(s SharedFactor) bool { return s.Name == factor })
	k := slices.IndexFunc(w.Crossed, func(c Crossing) bool { return c.Factor == f && c.Column < 0 })
	if f < 0 || k < 0 {
		return nil, nil
	}
	n, from := w.effects(), len(w.Terms)+w.first[k]
	var out []LevelEffect
	levels := a.Design.Shared[f].Levels
	m := len(levels)
	beta, cov := a.Fit.final.beta[from:from+m], a.Fit.final.cov
	// Less the mean of all: of each row of the covariance, and of the whole.
	rows, all, middle := make([]float64, m), 0.0, 0.0
	for i := range levels {
		for k := range levels {
			rows[i] += cov[(from+i)*n+from+k] / float64(m)
		}
		all, middle = all+rows[i]/float64(m), middle+beta[i]/float64(m)
	}
	for i, name := range levels {
		v := cov[(from+i)*n+from+i] - 2*rows[i] + all
		e := LevelEffect{factor, name, (beta[i] - middle) * w.sc.y, math.Sqrt(a.Fit.Scale*max(v, 0)) * w.sc.y}
		if a.Fit.Crossed[k].SD == 0 {
			e.Value, e.SD = 0, math.NaN() // as far as the trials tell they are alike
		}
		out = append(out, e)
	}
	return out, nil
}

// Whole is what a build does against the reference build for the average player, its
// figures and what its models do beyond them together, with its standard error.
// levels names those of shared factors; one that the fit does not know counts as none.
func (a *Answer) Whole(attributes [AttributeCount]float64, levels map[string]string) (change, se float64, err error) {
	w := a.Fit.work
	if w == nil {
		return 0, 0, fmt.Errorf("a stored fit holds no rows")
	}
	columns, err := a.Design.Columns(attributes)
	if err != nil {
		return 0, 0, err
	}
	n := w.effects()
	at := make([]float64, n)
	for k, i := range w.order {
		if t := w.Terms[i]; t.Moderator < 0 && t.Column < len(columns) {
			at[k] = columns[t.Column] / w.termScale(k)
		}
	}
	for k, c := range w.Crossed {
		s := a.Design.Shared[c.Factor]
		if l := slices.Index(s.Levels, levels[s.Name]); l >= 0 && c.Column < 0 {
			at[len(w.Terms)+w.first[k]+l] = 1
		}
	}
	v := 0.0
	for i, x := range at {
		if x != 0 {
			change += x * a.Fit.final.beta[i]
			v += x * dot(a.Fit.final.cov[i*n:(i+1)*n], at)
		}
	}
	return change * w.sc.y, math.Sqrt(a.Fit.Scale*max(v, 0)) * w.sc.y, nil
}
