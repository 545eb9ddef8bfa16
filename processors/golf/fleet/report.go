package fleet

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"
)

// report turns the solution into original units and attaches intervals and
// warnings.
func (w *work) report(s *search, o Options, logDetX float64) *Fit {
	p, q, all := len(w.Terms), len(w.Random), w.effects()
	y2 := w.sc.y * w.sc.y
	f := &Fit{
		Tau2: s.at.tau * s.at.tau * y2, K: w.Rows(), Players: w.Players(), Sessions: w.Sessions(),
		Scale: 1, Random: []RandomSD{}, RandomCor: [][]float64{}, Warnings: []Warning{}, work: w, final: s.solution,
	}
	free := 0
	if w.SessionLevel {
		free = f.Sessions
	}
	left := f.K - free - p

	// Constants and scales of the likelihood: dividing y by c multiplies |V|
	// by c⁻² for each row that is left; dividing a column by c divides |XᵀV⁻¹X|
	// by c².
	logDetScaled := 0.0
	for k := range w.mod {
		logDetScaled += 2 * math.Log(w.termScale(k))
	}
	// ln|V| + ln|XᵀV⁻¹X| over k rows and free+p columns.
	f.REML = s.n2 + logDetScaled + float64(left)*(math.Log(y2)+math.Log(2*math.Pi))
	f.LogLik = -0.5*f.REML + 0.5*logDetX

	if o.Test == KnappHartung {
		f.Scale = max(1, s.rss/float64(left))
		f.DF = float64(left)
		if q > 0 {
			f.DF = math.Min(f.DF, float64(f.Players-p))
			if f.DF < 1 {
				f.DF = 1
				f.warn("few_players", "%d players for %d coefficients: intervals use 1 degree of freedom and say little", f.Players, p)
			}
		}
	}
	for k, v := range s.at.cross {
		c := w.Crossed[k]
		sd := CrossedSD{Name: w.CrossingName(c), Levels: c.Levels}
		if math.Log(v) > flatCrossing+1 {
			sd.SD = math.Sqrt(v) * w.sc.y
			if c.Column >= 0 {
				sd.SD /= w.sc.col[c.Column]
			}
		}
		f.Crossed = append(f.Crossed, sd)
	}

	// Random slopes.
	f.G = square(q)
	for i := 0; i < q; i++ {
		for k := 0; k <= i; k++ {
			v := dot(s.at.lower[i*q:i*q+q], s.at.lower[k*q:k*q+q]) * y2 / (w.sc.col[w.Model.Random[i]] * w.sc.col[w.Model.Random[k]])
			f.G[i][k], f.G[k][i] = v, v
		}
	}
	for i, c := range w.Model.Random {
		f.Random = append(f.Random, RandomSD{w.Columns[c], math.Sqrt(f.G[i][i])})
		row := make([]float64, q)
		for k := range row {
			if i == k {
				row[k] = 1
			} else if d := f.G[i][i] * f.G[k][k]; d > 0 {
				row[k] = max(-1, min(1, f.G[i][k]/math.Sqrt(d)))
			}
		}
		f.RandomCor = append(f.RandomCor, row)
	}

	// Fixed coefficients, back in the order in which they were written.
	degrees := w.degrees(s.solution)
	f.Cov = square(p)
	f.Terms = make([]Estimate, p)
	for k, i := range w.order {
		for l, j := range w.order {
			f.Cov[i][j] = f.Scale * s.cov[k*all+l] * y2 / (w.termScale(k) * w.termScale(l))
		}
		e := Estimate{Name: w.Terms[i].Name, Value: s.beta[k] * w.sc.y / w.termScale(k)}
		e.SE = math.Sqrt(f.Cov[i][i])
		df := f.DF
		if d := degrees(k); d < manyDegrees && (df == 0 || d < df) {
			e.DF, df = d, d
		}
		crit, tail := quantiles(df, o.Level)
		e.CILow, e.CIHigh = e.Value-crit*e.SE, e.Value+crit*e.SE
		e.P = tail(e.Value / e.SE)
		if v, ok := w.slopeVariance(f, w.Terms[i]); ok {
			half := crit * math.Sqrt(e.SE*e.SE+v)
			lo, hi := e.Value-half, e.Value+half
			e.PILow, e.PIHigh = &lo, &hi
		}
		e.Clustered = w.clustered(s, k) * w.sc.y / w.termScale(k)
		f.Terms[i] = e
	}
	w.warn(f, s)
	return f
}

// quantiles returns the half width of an interval in standard errors and the
// two-sided p of a standardised estimate: t with df degrees, normal for df 0.
func quantiles(df, level float64) (crit float64, tail func(float64) float64) {
	if df == 0 {
		return distuv.UnitNormal.Quantile(0.5 + level/2), func(z float64) float64 { return 2 * distuv.UnitNormal.Survival(math.Abs(z)) }
	}
	t := distuv.StudentsT{Sigma: 1, Nu: df}
	return t.Quantile(0.5 + level/2), func(z float64) float64 { return 2 * t.Survival(math.Abs(z)) }
}

// slopeVariance is how much a term's coefficient varies between players, if it
// does. An intercept over known variances and one row a player is the textbook
// random-effects mean: τ² then is the variance between players.
func (w *work) slopeVariance(f *Fit, t Term) (float64, bool) {
	if t.Moderator >= 0 {
		return 0, false
	}
	v, ok := 0.0, false
	if k := w.random[t.Column]; k >= 0 {
		v, ok = f.G[k][k], true
	}
	for k, c := range w.Crossed {
		if c.Column == t.Column {
			v, ok = v+f.Crossed[k].SD*f.Crossed[k].SD, true
		}
	}
	if w.Columns[t.Column] == Constant && w.Variance != Estimated && f.K == f.Players {
		v, ok = v+f.Tau2, true
	}
	return v, ok
}

// clustered is the standard error of the k-th sorted coefficient when only the
// players are taken to be independent (Liang & Zeger, Biometrika 73:13, 1986),
// times √(players/(players−1)), in scaled units. What players share they do not
// tell apart: the part of the crossed effects is the model's.
func (w *work) clustered(s *search, k int) float64 {
	p, all, n := len(w.Terms), w.effects(), float64(w.Players())
	if n < 2 || s.slope.meat == nil {
		return 0
	}
	c, shared := s.cov[k*all:k*all+p], 0.0
	if s.given != nil {
		c, shared = s.given[k*p:(k+1)*p], s.cov[k*all+k]-s.given[k*p+k]
	}
	v := 0.0
	for i, a := range c {
		v += a * dot(s.slope.meat[i*p:(i+1)*p], c)
	}
	return math.Sqrt(max(v, 0)*n/(n-1) + shared)
}

func (f *Fit) warn(code, text string, args ...any) {
	f.Warnings = append(f.Warnings, Warning{code, fmt.Sprintf(text, args...)})
}

// warn says what a reader must know beside the numbers.
func (w *work) warn(f *Fit, s *search) {
	if !s.converged {
		f.warn("not_converged", "the search stopped after %d iterations without settling: do not rely on the variances", s.iterations)
	}
	if f.Players == 1 {
		f.warn("one_player", "one player (%s): the answer holds for this player and says nothing about the next", w.ids[0])
	}
	if f.Sessions == 1 {
		f.warn("one_session", "one session: what happened on that day cannot be told from the builds")
	}
	if w.SessionLevel && w.lonely > 0 {
		f.warn("single_rows", "%d of %d sessions hold a single row, which has nothing to be compared with; they are counted but say nothing",
			w.lonely, f.Sessions)
	}
	if w.flat {
		f.warn("zero_variance", "the outcome has zero variance beyond what the terms explain: check which column holds it")
	}
	for i, r := range f.Random {
		if r.SD == 0 {
			f.warn("zero_slope_variance", "the slope of %s is not seen to vary between players: its variance is estimated as zero", r.Name)
			continue
		}
		for k := 0; k < i; k++ {
			if w.FullCovariance && math.Abs(f.RandomCor[i][k]) > 0.9999 {
				f.warn("singular", "the slopes of %s and %s move together entirely: there is too little to tell their correlation", r.Name,
					f.Random[k].Name)
			}
		}
	}
	if names := w.confounded(s); len(names) > 0 {
		f.warn("slope_or_noise", "the slope variance of %s cannot be told from the trial noise: each player shows it once, at one size; only "+
			"their sum means something", strings.Join(names, ", "))
	}
	var wide []string
	for _, e := range f.Terms {
		if f.Players >= 20 && e.Clustered > 1.3*e.SE {
			wide = append(wide, fmt.Sprintf("%s (%.2g against %.2g)", e.Name, e.Clustered, e.SE))
		}
	}
	if len(wide) > 0 {
		f.warn("clustered", "standard errors clustered by player are much larger than the model's: %s; players differ in a way that the model "+
			"does not know", strings.Join(wide, ", "))
	}
}

// confounded names the slopes whose variance the information matrix cannot
// separate from τ²: the pair's correlation is −1 to three digits.
func (w *work) confounded(s *search) []string {
	K, q := w.parameters(), len(w.Random)
	var out []string
	a := s.slope.info[0]
	for i := 0; i < q; i++ {
		k := 1 + i
		if w.FullCovariance {
			k = 1 + i*(i+1)/2 + i
		}
		b, c := s.slope.info[k*K+k], s.slope.info[k*K]
		if a > 0 && b > 0 && c*c >= 0.999*a*b {
			out = append(out, w.Columns[w.Model.Random[i]])
		}
	}
	return out
}

func square(n int) [][]float64 {
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, n)
	}
	return m
}
