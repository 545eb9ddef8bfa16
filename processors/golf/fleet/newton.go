package fleet

import (
	"context"
	"math"
)

// The search works on τ and on the Cholesky factor L of G, not on the
// variances: a variance cannot leave its range then, and a variance of zero is
// an ordinary stationary point that Newton's method walks straight into.
//
//	∂f/∂τ = 2τ·f_τ²        ∂f/∂L = 2ΓL
//	H = Jᵀ·average·J + curvature of the map, 2f_τ² and 2Γ
//
// with f = −2 × the restricted log likelihood. A ridge (Levenberg–Marquardt)
// is added where H is not positive definite or a step does not improve f.

// entries lists the free entries (row, column) of L in the order of the
// natural parameters.
func (w *work) entries() [][2]int {
	var e [][2]int
	for i := range w.Random {
		if !w.FullCovariance {
			e = append(e, [2]int{i, i})
			continue
		}
		for k := 0; k <= i; k++ {
			e = append(e, [2]int{i, k})
		}
	}
	return e
}

// local turns the natural gradient and information into those of τ and L.
func (w *work) local(at point, g *slope) (grad, hess []float64) {
	q, ent := len(w.Random), w.entries()
	K := 1 + len(ent)
	grad, hess = make([]float64, K), make([]float64, K*K)
	// J: row by natural parameter, column by search parameter.
	jac := make([]float64, K*K)
	jac[0] = 2 * at.tau
	grad[0] = 2 * at.tau * g.tau
	for x, e := range ent {
		a, b := e[0], e[1]
		for c := 0; c < q; c++ {
			grad[1+x] += 2 * g.gamma[a*q+c] * at.lower[c*q+b]
		}
		// dG = dL·Lᵀ + L·dLᵀ: entry (a, c) moves by L_cb, and (a, a) twice.
		for y, n := range ent {
			r, c := n[0], n[1]
			v := 0.0
			if r == a {
				v += at.lower[c*q+b]
			}
			if c == a {
				v += at.lower[r*q+b]
			}
			jac[(1+y)*K+1+x] = v
		}
	}
	tmp := make([]float64, K*K)
	for i := 0; i < K; i++ {
		for k := 0; k < K; k++ {
			for j := 0; j < K; j++ {
				tmp[i*K+k] += g.info[i*K+j] * jac[j*K+k]
			}
		}
	}
	for i := 0; i < K; i++ {
		for k := 0; k < K; k++ {
			for j := 0; j < K; j++ {
				hess[i*K+k] += jac[j*K+i] * tmp[j*K+k]
			}
		}
	}
	hess[0] += 2 * g.tau
	for x, e := range ent {
		for y, o := range ent {
			if e[1] == o[1] {
				hess[(1+x)*K+1+y] += 2 * g.gamma[e[0]*q+o[0]]
			}
		}
	}
	return grad, hess
}

// step moves a point along δ.
func (w *work) step(at point, delta []float64) point {
	next := at.clone()
	next.tau = math.Abs(next.tau + delta[0])
	q := len(w.Random)
	for x, e := range w.entries() {
		next.lower[e[0]*q+e[1]] += delta[1+x]
	}
	return next
}

// search is where the optimiser stands when it ends.
type search struct {
	*solution
	slope      *slope
	iterations int
	converged  bool
}

// maxIterations is far above what any data set has needed (four to twelve).
const maxIterations = 100

// newton minimises f from a start until the step promises less than tol. The sum
// of squared scores is wanted of the last gradient only: meat says that it is
// taken along from the second one on.
func (w *work) newton(ctx context.Context, start point, tol float64, meat bool) (*search, error) {
	cur, err := w.solve(ctx, start)
	if err != nil {
		return nil, err
	}
	if math.IsInf(cur.n2, 1) {
		return nil, errRange
	}
	K := w.parameters()
	ridge, before := 0.0, 0.0 // before: what the previous step promised
	out := &search{solution: cur}
	for out.iterations = 0; out.iterations < maxIterations; out.iterations++ {
		g, err := w.gradient(ctx, cur, meat && out.iterations > 0)
		if err != nil {
			return nil, err
		}
		grad, hess := w.local(cur.at, g)
		out.slope = g
		moved := false
		for try := 0; try < 40; try++ {
			f := append([]float64(nil), hess...)
			for i := 0; i < K; i++ {
				f[i*K+i] += ridge*math.Abs(hess[i*K+i]) + ridge*1e-3 + 1e-12*(1+math.Abs(hess[i*K+i]))
			}
			if !cholesky(f, K) {
				ridge = max(ridge*4, 1e-3)
				continue
			}
			delta := make([]float64, K)
			for i := range delta {
				delta[i] = -grad[i]
			}
			cholSolve(f, K, delta)
			promise := -dot(grad, delta)
			// The last step is taken without another look when it promises
			// less than tol, or when steps shrink so fast that the next would.
			if ridge <= 1e-2 && (promise < tol || ridge == 0 && promise < 0.01*before && promise*promise/before < tol) {
				out.converged = true
			}
			before = promise
			limit(delta, 1)
			next, err := w.solve(ctx, w.step(cur.at, delta))
			if err != nil {
				return nil, err
			}
			if next.n2 <= cur.n2-1e-4*promise || (out.converged && next.n2 <= cur.n2) {
				cur, moved = next, true
				out.solution = cur
				ridge /= 10
				if ridge < 1e-6 {
					ridge = 0
				}
				break
			}
			if out.converged {
				break
			}
			if promise < 1e-13*(1+math.Abs(cur.n2)) { // as near as the machine gets
				out.converged = true
				break
			}
			ridge = max(ridge*4, 1e-3)
		}
		if out.converged || !moved {
			break
		}
	}
	return out, nil
}

// limit shortens δ so that no parameter moves by more than most.
func limit(delta []float64, most float64) {
	big := 0.0
	for _, d := range delta {
		big = max(big, math.Abs(d))
	}
	if big > most {
		for i := range delta {
			delta[i] *= most / big
		}
	}
}

// boundary sets slopes that have shrunk to nothing to exactly zero where that
// costs no likelihood, and reports the start from which the search must be
// resumed if a zero turns out to be a saddle by more than tol.
func (w *work) boundary(ctx context.Context, s *search, tol float64) (*point, error) {
	q := len(w.Random)
	at := s.at.clone()
	changed := false
	if at.tau > 0 && at.tau < 1e-4 && w.Variance != Estimated {
		at.tau, changed = 0, true
	}
	for i := 0; i < q; i++ {
		row := at.lower[i*q : (i+1)*q]
		if n := math.Sqrt(dot(row, row)); n > 0 && n < 1e-4 {
			zero(row)
			changed = true
		}
	}
	if changed {
		z, err := w.solve(ctx, at)
		if err != nil {
			return nil, err
		}
		if z.n2 <= s.n2+1e-7 {
			s.solution = z
			if s.slope, err = w.gradient(ctx, z, false); err != nil {
				return nil, err
			}
		}
	}
	// At zero the search's own gradient vanishes; the natural one must not
	// point inwards, unless there is less to gain than the search looks for.
	resume := s.at.clone()
	saddle := false
	gains := func(slope, info float64) bool { return slope < -1e-6 && !(slope*slope < 2*info*tol) }
	if s.at.tau == 0 && gains(s.slope.tau, s.slope.info[0]) {
		resume.tau, saddle = 0.1, true
	}
	K := w.parameters()
	for x, e := range w.entries() {
		row := s.at.lower[e[0]*q : (e[0]+1)*q]
		if e[0] == e[1] && dot(row, row) == 0 && gains(s.slope.gamma[e[0]*q+e[0]], s.slope.info[(1+x)*K+1+x]) {
			resume.lower[e[0]*q+e[0]], saddle = 0.1, true
		}
	}
	if saddle {
		return &resume, nil
	}
	return nil, nil
}
