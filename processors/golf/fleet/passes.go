package fleet

import (
	"context"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// chunks is the number of runs of players that are summed apart and then
// added in order, so that the result does not depend on the number of cores.
const chunks = 32

// work is a data set with its scales and the share of players in use.
type work struct {
	*Data
	sc      scales
	oneIn   int // one player in so many; 1 for all
	workers int
	flat    bool // the outcome has no noise at all
	// share: one player in use in so many shares in the sums that only say how
	// certain the search is, see gradient.
	share int
}

// point is a value of the variance parameters in scaled units.
type point struct {
	tau   float64   // τ, so that τ² cannot become negative
	lower []float64 // q×q lower factor of the slopes' covariance
	cross []float64 // variance of each crossing; solve finds it, from here
}

func (p point) clone() point {
	return point{p.tau, slices.Clone(p.lower), slices.Clone(p.cross)}
}

// sums are what one pass over the players gathers; each pass fills its part.
type sums struct {
	logDet, yy float64
	xy, cells  []float64
	shares     []float64 // crossed effects × all effects: their part of XᵀPX
	xx         []float64 // the cells as a matrix, when all are added
	rows       int
	trP, gg    float64
	gamma      []float64 // q×q: Σ ZᵀPZ − hhᵀ
	meat       []float64 // upper half, p×p: Σ over players of the squared scores
	players    int
	// Of the players that share in them:
	shared  int
	trOmega float64   // Σ tr(Ω·AᵀPPA)
	omega   []float64 // q×q: Σ FᵀΩF
	n       []float64 // parameters × p: XᵀP·V_k·Py
	b       []float64 // parameters²: (V_k·Py)ᵀP(V_l·Py)
	bad     bool
}

func (s *sums) add(o *sums) {
	s.logDet += o.logDet
	s.yy += o.yy
	s.rows += o.rows
	s.trP += o.trP
	s.gg += o.gg
	s.trOmega += o.trOmega
	s.players += o.players
	s.shared += o.shared
	s.bad = s.bad || o.bad
	for _, f := range [][2][]float64{{s.xy, o.xy}, {s.cells, o.cells}, {s.shares, o.shares}, {s.gamma, o.gamma},
		{s.omega, o.omega}, {s.n, o.n}, {s.b, o.b},
		{s.meat, o.meat}} {
		for i, v := range f[1] {
			f[0][i] += v
		}
	}
}

// each runs visit over the players in use, on all workers, and returns the
// summed result. make builds an empty sum; finish, if not nil, adds what a block
// has held back.
func (w *work) each(ctx context.Context, make func() *sums, visit func(b *block, j int, s *sums), finish func(b *block, s *sums)) (*sums,
	error) {
	players := w.Players()
	got := parts(chunks, make)
	var next atomic.Int64
	var wg sync.WaitGroup
	n := w.workers
	if n <= 0 {
		n = runtime.GOMAXPROCS(0)
	}
	for range min(n, chunks) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			var b block
			for {
				c := int(next.Add(1)) - 1
				if c >= chunks || ctx.Err() != nil {
					return
				}
				lo, hi := players*c/chunks, players*(c+1)/chunks
				for j := lo; j < hi; j++ {
					if drawn(j, w.oneIn) {
						got[c].players++
						visit(&b, j, got[c])
					}
				}
				if finish != nil {
					finish(&b, got[c])
				}
			}
		}()
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for _, p := range got[1:] {
		got[0].add(p)
	}
	return got[0], nil
}

// drawn says whether the j-th player is among one in n. The order of players may
// have a period, so that every n-th would not do.
func drawn(j, n int) bool {
	if n <= 1 {
		return true
	}
	x := uint32(j) * 0x9e3779b1
	x = (x ^ x>>15) * 0x85ebca77
	return (x^x>>13)%uint32(n) == 0
}

func parts(n int, f func() *sums) []*sums {
	out := make([]*sums, n)
	for i := range out {
		out[i] = f()
	}
	return out
}

// cross is the first pass: ln|V|, XᵀPX, XᵀPy and yᵀPy at a point. With plain
// set it gathers XᵀX, XᵀY and yᵀy instead, with session levels swept out.
func (w *work) cross(ctx context.Context, at point, plain bool) (*sums, error) {
	p, q, more := len(w.Terms), len(w.Random), w.crossed()
	if plain {
		more = 0
	}
	t, err := w.each(ctx, func() *sums {
		return &sums{xy: make([]float64, p+more), cells: make([]float64, w.cells.size), shares: make([]float64, more*(p+more))}
	}, func(b *block, j int, s *sums) {
		b.load(w.Data, j, &w.sc, more > 0)
		b.sweep(w.Data, j, at.tau*at.tau, &w.sc, noSquares, plain)
		c := b.t
		if !plain {
			b.alive(at.lower, q)
			if !b.absorb(at.lower, q, !w.FullCovariance) {
				s.bad = true
				return
			}
			c = b.s
		}
		s.logDet += b.logDet
		s.yy += c[len(c)-1]
		s.rows += b.n
		b.addCross(w.plan, c, s)
	}, nil)
	if err != nil {
		return nil, err
	}
	t.xx = widen(w.cells.unfold(w.plan, t.cells), t.shares, p, more)
	return t, nil
}

// solution is what the first pass says about the fixed coefficients and behind
// them the crossed effects, in scaled units.
type solution struct {
	at      point
	n2      float64 // −2 × restricted log likelihood without its constants
	rss     float64 // rᵀV⁻¹r
	logDetX float64 // ln|XᵀPX|
	beta    []float64
	cov     []float64 // (XᵀPX)⁻¹
	given   []float64 // that of the terms if the crossed effects were known; nil without
}

// solve turns the sums of the first pass into coefficients.
func (w *work) solve(ctx context.Context, at point) (*solution, error) {
	t, err := w.cross(ctx, at, false)
	if err != nil {
		return nil, err
	}
	p := len(w.Terms)
	s := &solution{at: at, n2: math.Inf(1)}
	if t.bad {
		return s, nil
	}
	if w.crossed() > 0 {
		return w.settle(t, at), nil
	}
	if !cholesky(t.xx, p) {
		return s, nil
	}
	s.beta = append([]float64(nil), t.xy...)
	cholSolve(t.xx, p, s.beta)
	s.cov = make([]float64, p*p)
	cholInverse(t.xx, p, s.cov)
	s.rss = t.yy - dot(s.beta, t.xy)
	s.logDetX = cholLogDet(t.xx, p)
	s.n2 = t.logDet + s.logDetX + s.rss
	if math.IsNaN(s.n2) {
		s.n2 = math.Inf(1)
	}
	return s, nil
}
