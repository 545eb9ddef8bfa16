package fleet

import (
	"context"
	"math"
)

// search minimises f over many rows, or with newton over few. Few rows cost
// nothing, and newton finds the last digit of them.
func (w *work) search(ctx context.Context, start point, tol float64, meat bool) (*search, error) {
	if w.independent() && w.Rows() > subsampleRows {
		return w.natural(ctx, start, tol, meat)
	}
	return w.newton(ctx, start, tol, meat)
}

// independent says whether the variances are free of each other, and none of
// them must stay above zero.
func (w *work) independent() bool { return !w.FullCovariance && w.Variance != Estimated }

// natural minimises f in the variances themselves: the average information is
// their Hessian and positive definite everywhere, so that each step solves a
// small quadratic problem with the variances kept at 0 or above (Gilmour,
// Thompson & Cullis, Biometrics 51:1440, 1995). A variance of zero is reached
// in one step and left in one, which newton takes ten for: over millions of rows
// it is the number of steps that counts. The slopes must be independent.
func (w *work) natural(ctx context.Context, start point, tol float64, meat bool) (*search, error) {
	cur, err := w.solve(ctx, start)
	if err != nil {
		return nil, err
	}
	if math.IsInf(cur.n2, 1) {
		return nil, errRange
	}
	q := len(w.Random)
	out := &search{solution: cur}
	before := 0.0 // what the previous step promised
	for out.iterations = 0; out.iterations < maxIterations && !out.converged; out.iterations++ {
		g, err := w.gradient(ctx, cur, meat && out.iterations > 0)
		if err != nil {
			return nil, err
		}
		out.slope = g
		theta, grad := []float64{cur.at.tau * cur.at.tau}, []float64{g.tau}
		for i := range q {
			theta, grad = append(theta, cur.at.lower[i*q+i]*cur.at.lower[i*q+i]), append(grad, g.gamma[i*q+i])
		}
		delta := boxed(grad, g.info, theta)
		promise := -dot(grad, delta)
		// As in newton: the last step is taken without another look.
		out.converged = promise < tol || promise < 0.01*before && promise*promise/before < tol
		before = promise
		moved := false
		for share := 1.0; share > 1e-6 && !moved; share /= 2 {
			next := cur.at.clone()
			next.tau = math.Sqrt(max(theta[0]+share*delta[0], 0))
			for i := range q {
				next.lower[i*q+i] = math.Sqrt(max(theta[1+i]+share*delta[1+i], 0))
			}
			s, err := w.solve(ctx, next)
			if err != nil {
				return nil, err
			}
			if s.n2 <= cur.n2-1e-4*share*promise || out.converged && s.n2 <= cur.n2 {
				cur, moved = s, true
				out.solution = cur
			} else if out.converged {
				break // as near as the machine gets
			}
		}
		if !moved && !out.converged {
			break
		}
	}
	return out, nil
}

// boxed minimises gᵀδ + ½δᵀHδ over δ ≥ −θ, one coordinate after the other; H is
// positive semidefinite.
func boxed(g, h, theta []float64) []float64 {
	n := len(g)
	delta := make([]float64, n)
	for range 20_000 {
		most := 0.0
		for i := range n {
			own := h[i*n+i]
			if !(own > 0) {
				continue
			}
			to := max(delta[i]-(g[i]+dot(h[i*n:(i+1)*n], delta))/own, -theta[i])
			most = max(most, math.Abs(to-delta[i])*math.Sqrt(own))
			delta[i] = to
		}
		if most < 1e-9 { // of a standard error
			break
		}
	}
	return delta
}
