package fleet

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// The crossed effects W·u with u ~ N(0, D) make the covariance V + WDWᵀ, no longer
// a block a player. But the restricted likelihood and its derivatives in the
// players' own variances are those of the model in which u are more fixed
// coefficients with D⁻¹ added to their part of XᵀV⁻¹X (Henderson's mixed model
// equations; Harville, J. Am. Stat. Assoc. 72:320, 1977):
//
//	−2l = ln|V| + ln|M + R| + ln|D| + yᵀV⁻¹y − bᵀXᵀV⁻¹y
//	M = [X W]ᵀV⁻¹[X W],  R = diag(0, D⁻¹),  b = (M + R)⁻¹[X W]ᵀV⁻¹y
//
// so the passes over the players stay as they are, linear in players, and D is
// found between two of them from M alone: settle. With C = (M + R)⁻¹ and P of the
// whole model, the parts of a crossing with variance σ² are
//
//	WᵀPy = u/σ²      WᵀPW = I/σ² − C_uu/σ⁴
//
// from which gradient and expected information follow in ln σ².
//
// Few levels leave their variance open, and often its best value is zero. Degrees of
// freedom by Satterthwaite answer for that; a prior that keeps σ away from zero (Chung,
// Rabe-Hesketh, Dorie, Gelman & Liu, Psychometrika 78:685, 2013) made intervals half as
// wide again where studios do not differ, and covered no better where they do.

// flatCrossing is the ln σ² (outcome of variance one) below which a crossing counts as
// none; boldest is how far ln σ² moves in a step.
const (
	flatCrossing = -18.0
	boldest      = 3.0
)

// settled are the crossed effects at one value of their variances.
type settled struct {
	eta  []float64 // ln σ² by crossing
	chol mat.Cholesky
	beta []float64
	rss  float64
	n2   float64 // without ln|V|
}

// at solves the mixed model equations for one value of the variances.
func (w *work) equations(t *sums, eta []float64) *settled {
	n, p := w.effects(), len(w.Terms)
	s := &settled{eta: eta, n2: math.Inf(1)}
	a := append([]float64(nil), t.xx...)
	logDet := 0.0
	for k, c := range w.Crossed {
		logDet += float64(c.Levels) * eta[k]
		for i := p + w.first[k]; i < p+w.first[k+1]; i++ {
			a[i*n+i] += math.Exp(-eta[k])
		}
	}
	if !s.chol.Factorize(mat.NewSymDense(n, a)) {
		return s
	}
	var b mat.VecDense
	if s.chol.SolveVecTo(&b, mat.NewVecDense(n, t.xy)) != nil {
		return s
	}
	s.beta = b.RawVector().Data
	s.rss = t.yy - dot(s.beta, t.xy)
	if s.n2 = s.chol.LogDet() + logDet + s.rss; math.IsNaN(s.n2) {
		s.n2 = math.Inf(1)
	}
	return s
}

// settle finds the variances of the crossings that maximise the likelihood at the
// other variances, by Fisher scoring in ln σ² from where they were before.
func (w *work) settle(t *sums, at point) *solution {
	K := len(w.Crossed)
	eta := make([]float64, K)
	for k := range eta {
		if eta[k] = math.Log(0.03); k < len(at.cross) {
			eta[k] = max(math.Log(at.cross[k]), flatCrossing)
		}
	}
	s := w.equations(t, eta)
	if math.IsInf(s.n2, 1) {
		return &solution{at: at, n2: s.n2}
	}
	var inv mat.SymDense
	for range maxIterations {
		if s.chol.InverseTo(&inv) != nil {
			return &solution{at: at, n2: math.Inf(1)}
		}
		grad, info := w.crossSlope(s, &inv)
		room := make([]float64, K)
		for k := range room {
			room[k] = s.eta[k] - flatCrossing
			info[k*K+k] += 1e-9
		}
		delta := boxed(grad, info, room)
		limit(delta, boldest)
		promise := -dot(grad, delta)
		if promise < 1e-10 {
			break
		}
		moved := false
		for share := 1.0; share > 1e-4 && !moved; share /= 2 {
			next := make([]float64, K)
			for k := range next {
				next[k] = max(s.eta[k]+share*delta[k], flatCrossing)
			}
			if n := w.equations(t, next); n.n2 < s.n2 {
				s, moved = n, true
			}
		}
		if !moved {
			break
		}
		if promise < 1e-8 { // this step was the last one
			if s.chol.InverseTo(&inv) != nil {
				return &solution{at: at, n2: math.Inf(1)}
			}
			break
		}
	}
	out := &solution{at: at.clone(), beta: s.beta, rss: s.rss, logDetX: s.chol.LogDet(), n2: t.logDet + s.n2}
	out.at.cross = make([]float64, K)
	for k, e := range s.eta {
		out.at.cross[k] = math.Exp(e)
	}
	n, p := w.effects(), len(w.Terms)
	terms := make([]float64, p*p)
	for i := range p {
		copy(terms[i*p:(i+1)*p], t.xx[i*n:i*n+p])
	}
	if !cholesky(terms, p) {
		return &solution{at: at, n2: math.Inf(1)}
	}
	out.given = make([]float64, p*p)
	cholInverse(terms, p, out.given)
	out.cov = make([]float64, n*n)
	for i := range n {
		for k := range n {
			out.cov[i*n+k] = inv.At(i, k)
		}
	}
	return out
}

// crossSlope is the gradient of −2l in ln σ² and its expected information
// (of −2l: twice Fisher's).
func (w *work) crossSlope(s *settled, inv *mat.SymDense) (grad, info []float64) {
	p, K := len(w.Terms), len(w.Crossed)
	grad = make([]float64, K)
	variances, all := make([]float64, K), make([]int, K)
	for k, c := range w.Crossed {
		all[k], variances[k] = k, math.Exp(s.eta[k])
		grad[k] = float64(c.Levels)
		for i := p + w.first[k]; i < p+w.first[k+1]; i++ {
			grad[k] -= (inv.At(i, i) + s.beta[i]*s.beta[i]) / variances[k]
		}
	}
	return grad, w.crossInfo(all, variances, inv.At)
}

// crossInfo is the expected information of −2l in ln σ² of some crossings, at the
// variances of all, with the covariance of all effects.
func (w *work) crossInfo(of []int, variances []float64, cov func(i, j int) float64) []float64 {
	p, m := len(w.Terms), len(of)
	info := make([]float64, m*m)
	for x, c := range of {
		for y, d := range of[:x+1] {
			scale, sum := math.Sqrt(variances[c]*variances[d]), 0.0
			for i := p + w.first[c]; i < p+w.first[c+1]; i++ {
				for j := p + w.first[d]; j < p+w.first[d+1]; j++ {
					e := -cov(i, j) / scale
					if i == j {
						e++
					}
					sum += e * e
				}
			}
			info[x*m+y], info[y*m+x] = sum, sum
		}
	}
	return info
}

// manyDegrees are as good as infinitely many.
const manyDegrees = 1000

// degrees are those of the t distribution that a coefficient's standard error
// deserves when it rests on few levels (Satterthwaite, Biometrics Bull. 2:110,
// 1946; Fai & Cornelius, J. Stat. Comput. Simul. 54:363, 1996): 2·c²/(gᵀΣg), with
// c its variance, g the derivative of that in the crossings' variances and Σ
// their own covariance; +Inf where they have no part in it.
//
// It returns them by coefficient.
func (w *work) degrees(s *solution) func(k int) float64 {
	p, n := len(w.Terms), w.effects()
	var live []int
	for c, v := range s.at.cross {
		if math.Log(v) > flatCrossing+1 {
			live = append(live, c)
		}
	}
	m := len(live)
	l := w.crossInfo(live, s.at.cross, func(i, j int) float64 { return s.cov[i*n+j] })
	known := cholesky(l, m)
	return func(k int) float64 {
		if !known {
			return 1
		}
		g := make([]float64, m) // ∂c/∂ ln σ²
		for x, c := range live {
			for i := p + w.first[c]; i < p+w.first[c+1]; i++ {
				g[x] += s.cov[k*n+i] * s.cov[k*n+i] / s.at.cross[c]
			}
		}
		z := append([]float64(nil), g...)
		cholSolve(l, m, z)
		if spread, c := 2*dot(g, z), s.cov[k*n+k]; spread > 0 {
			return max(1, 2*c*c/spread)
		}
		return math.Inf(1)
	}
}
