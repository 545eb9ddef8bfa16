package fleet

import (
	"context"
	"errors"
	"fmt"
	"math"
)

var errRange = errors.New("the numbers left the range of the machine: look for outcomes or variances of very different size")

// prepare measures the columns: it sets the scales, and returns ln|XᵀX| over
// all columns in original units. It finds terms that the data cannot tell
// apart, and an outcome that the terms explain entirely.
func (d *Data) prepare(ctx context.Context, workers int) (*work, float64, error) {
	w := &work{Data: d, oneIn: 1, share: 1, workers: workers}
	w.sc = scales{col: ones(len(d.Columns)), mod: ones(1 + len(d.Moderators)), y: 1}
	w.sc.perCol, w.sc.perMod = ones(len(d.Columns)), ones(1+len(d.Moderators))
	w.columnScales()
	p := len(d.Terms)
	free := 0
	if d.SessionLevel {
		free = d.Sessions()
	}
	if d.Rows()-free <= p {
		what := fmt.Sprintf("%d rows", d.Rows())
		if free > 0 {
			what += fmt.Sprintf(" in %d sessions, each with a level of its own,", free)
		}
		return nil, 0, &ModelError{Kind: NotEnough, Terms: []string{"not enough to say"},
			Reason: fmt.Sprintf("%s cannot carry %d coefficients", what, p), Try: "ask for fewer terms, or bring more rows"}
	}
	t, err := w.cross(ctx, point{}, true)
	if err != nil {
		return nil, 0, err
	}
	if !finite(t.yy) {
		return nil, 0, errRange
	}
	if err := w.dependent(t.xx, t.rows); err != nil {
		return nil, 0, err
	}
	if !cholesky(t.xx, p) {
		return nil, 0, errRange
	}
	beta := append([]float64(nil), t.xy...)
	cholSolve(t.xx, p, beta)
	rss := t.yy - dot(beta, t.xy)
	variance := rss / float64(d.Rows()-free-p)
	flat := rss <= 1e-14*t.yy
	if flat && d.Variance == Estimated {
		return nil, 0, &ModelError{Terms: []string{"y"},
			Reason: "the residual has zero variance: the terms explain the outcome of every row exactly",
			Try:    "leave out the term that was computed from the outcome, or check that the outcome varies"}
	}
	// Known variances set the size of the noise too; an outcome without any
	// noise must not make the scale vanish.
	w.sc.y = math.Sqrt(max(variance, d.meanVariance()))
	w.flat = flat
	logDet := t.logDet + cholLogDet(t.xx, p)
	for k := range d.mod {
		logDet += 2 * math.Log(w.termScale(k))
	}
	return w, logDet, nil
}

// columnScales sets each column's and moderator's root mean square.
func (w *work) columnScales() {
	for c, s := range w.square {
		if s > 0 {
			w.sc.col[c] = math.Sqrt(s / float64(w.Rows()))
		}
		w.sc.perCol[c] = 1 / w.sc.col[c]
	}
	M := 1 + len(w.Moderators)
	for m := 1; m < M; m++ {
		s := 0.0
		for i := m; i < len(w.mods); i += M {
			s += w.mods[i] * w.mods[i]
		}
		if s > 0 {
			w.sc.mod[m] = math.Sqrt(s / float64(w.Players()))
		}
		w.sc.perMod[m] = 1 / w.sc.mod[m]
	}
}

// termScale is what the k-th sorted term's values are divided by.
func (w *work) termScale(k int) float64 {
	return w.sc.col[w.Terms[w.order[k]].Column] * w.sc.mod[w.mod[k]]
}

// dependent names the first term that is a combination of those before it. xx
// is XᵀX in the sorted order; it is left as it is.
func (w *work) dependent(xx []float64, rows int) error {
	p := len(w.Terms)
	place := make([]int, p) // place[i]: sorted position of the i-th term as written
	for k, i := range w.order {
		place[i] = k
	}
	l := make([]float64, p*p)
	for i := 0; i < p; i++ {
		ki := place[i]
		name := w.Terms[i].Name
		if xx[ki*p+ki] <= 1e-20*float64(rows) {
			where := "it is zero in every row"
			if w.SessionLevel {
				where = "it has zero variance within sessions, and each session has a level of its own"
			}
			return &ModelError{Kind: Idle, Terms: []string{name}, Reason: where, Try: "leave it out"}
		}
		for k := 0; k < i; k++ {
			s := xx[ki*p+place[k]]
			for j := 0; j < k; j++ {
				s -= l[i*p+j] * l[k*p+j]
			}
			l[i*p+k] = s / l[k*p+k]
		}
		d := xx[ki*p+ki]
		for j := 0; j < i; j++ {
			d -= l[i*p+j] * l[i*p+j]
		}
		if d <= 1e-11*xx[ki*p+ki] {
			// Which of the others make it up: L'·coef = row i of L.
			coef := append([]float64(nil), l[i*p:i*p+i]...)
			for k := i - 1; k >= 0; k-- {
				for j := k + 1; j < i; j++ {
					coef[k] -= l[j*p+k] * coef[j]
				}
				coef[k] /= l[k*p+k]
			}
			names := []string{}
			for k, c := range coef {
				if math.Abs(c)*math.Sqrt(xx[place[k]*p+place[k]]) > 1e-4*math.Sqrt(xx[ki*p+ki]) {
					names = append(names, w.Terms[k].Name)
				}
			}
			return &ModelError{Kind: Collinear, Terms: append(names, name),
				Reason: "they are collinear: one can be computed from the others in these rows", Try: "leave one of them out"}
		}
		l[i*p+i] = math.Sqrt(d)
	}
	return nil
}

func ones(n int) []float64 {
	a := make([]float64, n)
	for i := range a {
		a[i] = 1
	}
	return a
}

// meanVariance is the mean known variance, its shared part included.
func (d *Data) meanVariance() float64 {
	sum := 0.0
	for _, v := range d.v {
		sum += v
	}
	for _, v := range d.v32 {
		sum += float64(v)
	}
	for s, v0 := range d.shared {
		sum += v0 * float64(d.session[s+1]-d.session[s])
	}
	return sum / float64(d.Rows())
}
