package fleet

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
)

// A fit's likelihood is a sum over players, and a level belongs to one studio,
// bay, fitter, ball and month. So what is left when one of them is taken away is
// the sum less its players' part, plus what those players did elsewhere: all of
// forty studios, their bays and fitters cost a few passes over the players, not a
// fit each. Variances and the reference build stay those of the whole fleet, so
// that every row is asked the same.

// parts holds a fitted answer, its trials in the order of the fit, and the sums
// over all of them.
type partsOf struct {
	a      *Answer
	trials []Trial
	order  []int
	begin  map[string][2]int // by player: place in order
	all    *sums
	at     point
	k      [3]int // rows, sessions and players of all
}

// order sorts trials as Ask wants them.
func hitOrder(trials []Trial) []int {
	order := make([]int, len(trials))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, k int) int {
		a, b := &trials[i], &trials[k]
		return cmp.Or(strings.Compare(a.Player, b.Player), strings.Compare(a.Session, b.Session),
			cmp.Compare(a.Number, b.Number), cmp.Compare(a.FirstShot, b.FirstShot), cmp.Compare(a.Level, b.Level), cmp.Compare(i, k))
	})
	return order
}

// newParts prepares an answer that Ask made of these trials and that still has
// its rows.
func newParts(ctx context.Context, a *Answer, trials []Trial) (*partsOf, error) {
	if a.Fit.work == nil || a.Fit.final == nil {
		return nil, fmt.Errorf("parts of an answer: its rows are gone; ask it again")
	}
	p := &partsOf{a: a, trials: trials, order: hitOrder(trials), begin: map[string][2]int{}, at: a.Fit.final.at,
		k: [3]int{a.Fit.K, a.Fit.Sessions, a.Fit.Players}}
	for i := 0; i < len(p.order); {
		k, id := i, trials[p.order[i]].Player
		for k < len(p.order) && trials[p.order[k]].Player == id {
			k++
		}
		p.begin[id] = [2]int{i, k}
		i = k
	}
	var err error
	p.all, err = a.Fit.work.cross(ctx, p.at, false)
	return p, err
}

// sum is the first pass over some players' trials, at the answer's variances.
func (p *partsOf) sum(ctx context.Context, players []string, keep func(*Trial) bool) (*sums, *Data, error) {
	s, err := NewStream(p.a.Question, p.a.Design, p.a.Noise)
	if err != nil {
		return nil, nil, err
	}
	for _, id := range players {
		for _, i := range p.order[p.begin[id][0]:p.begin[id][1]] {
			if keep == nil || keep(&p.trials[i]) {
				if err := s.Add(&p.trials[i]); err != nil {
					return nil, nil, err
				}
			}
		}
	}
	d, err := s.data()
	if err != nil {
		return nil, nil, err
	}
	has := map[string]bool{}
	for _, t := range p.a.Prior.Model.Terms {
		has[t.Name] = true
	}
	for _, t := range slices.Clone(d.Terms) {
		if !has[t.Name] {
			d = d.without(t.Name)
		}
	}
	w := *p.a.Fit.work
	w.Data, w.oneIn, w.share = d, 1, 1
	if d.Rows() == 0 {
		n := d.effects()
		return &sums{xy: make([]float64, n), xx: make([]float64, n*n)}, d, nil
	}
	t, err := w.cross(ctx, p.at, false)
	return t, d, err
}

// groups lists the players of each value of a property, without those that have none.
func (p *partsOf) groups(get func(*Trial) string) map[string][]string {
	out := map[string][]string{}
	for _, i := range p.order {
		t := &p.trials[i]
		v := get(t)
		if v == "" {
			continue
		}
		if list := out[v]; len(list) == 0 || list[len(list)-1] != t.Player {
			out[v] = append(list, t.Player)
		}
	}
	return out
}

// without is the answer with one value of a property left out.
func (p *partsOf) without(ctx context.Context, players []string, is func(*Trial) bool) (*Answer, error) {
	full, df, err := p.sum(ctx, players, nil)
	if err != nil {
		return nil, err
	}
	rest, dr, err := p.sum(ctx, players, func(t *Trial) bool { return !is(t) })
	if err != nil {
		return nil, err
	}
	w, n, terms := p.a.Fit.work, p.a.Fit.work.effects(), len(p.a.Fit.work.Terms)
	xx, xy := slices.Clone(p.all.xx), slices.Clone(p.all.xy)
	for i := range xx {
		xx[i] += rest.xx[i] - full.xx[i]
	}
	for i := range xy {
		xy[i] += rest.xy[i] - full.xy[i]
	}
	yy := p.all.yy + rest.yy - full.yy
	rows, sessions, count := p.k[0]+dr.Rows()-df.Rows(), p.k[1]+dr.Sessions()-df.Sessions(), p.k[2]+dr.Players()-df.Players()
	for c := range w.Crossed {
		for i := terms + w.first[c]; i < terms+w.first[c+1]; i++ {
			xx[i*n+i] += 1 / p.at.cross[c]
		}
	}
	left := rows - sessions - terms
	if left < 1 || count < 2 || !cholesky(xx, n) {
		return nil, &ModelError{Kind: NotEnough, Terms: []string{"not enough to say"}, Reason: "what is left cannot carry the model",
			Try: "leave less out"}
	}
	beta, cov := slices.Clone(xy), make([]float64, n*n)
	cholSolve(xx, n, beta)
	cholInverse(xx, n, cov)
	f := *p.a.Fit
	f.Players, f.K, f.Sessions, f.Scale = count, rows, sessions, 1
	if p.a.Question.Test == KnappHartung {
		f.Scale = max(1, (yy-dot(beta, xy))/float64(left))
		f.DF = float64(left)
		if len(w.Random) > 0 {
			f.DF = max(1, min(f.DF, float64(count-terms)))
		}
	}
	f.Terms, f.Cov = make([]Estimate, terms), square(terms)
	for k, i := range w.order {
		for l, j := range w.order {
			f.Cov[i][j] = f.Scale * cov[k*n+l] * w.sc.y * w.sc.y / (w.termScale(k) * w.termScale(l))
		}
		e := Estimate{Name: w.Terms[i].Name, Value: beta[k] * w.sc.y / w.termScale(k)}
		e.SE = sqrt(f.Cov[i][i])
		df := f.DF
		if e.DF = p.a.Fit.Terms[i].DF; e.DF > 0 && (df == 0 || e.DF < df) {
			df = e.DF
		}
		crit, tail := quantiles(df, cmp.Or(p.a.Question.Level, 0.95))
		e.CILow, e.CIHigh = e.Value-crit*e.SE, e.Value+crit*e.SE
		if e.P = 1; e.SE > 0 {
			e.P = tail(e.Value / e.SE)
		}
		f.Terms[i] = e
	}
	out, prior := *p.a, *p.a.Prior
	prior.Cov = f.Cov
	prior.Beta = nil
	for _, e := range f.Terms {
		prior.Beta = append(prior.Beta, e.Value)
	}
	out.Fit, out.Prior, out.Trials = &f, &prior, rows
	return &out, nil
}
