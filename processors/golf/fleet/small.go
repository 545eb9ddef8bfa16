package fleet

import "math"

// The blocks of one player are a handful of rows by a handful of columns.
// These routines work in place on row-major slices and allocate nothing.

// cholesky overwrites the lower triangle of the symmetric n×n matrix a with L
// of a = L·Lᵀ and reports whether a was positive definite.
func cholesky(a []float64, n int) bool {
	for j := 0; j < n; j++ {
		d := a[j*n+j]
		for k := 0; k < j; k++ {
			d -= a[j*n+k] * a[j*n+k]
		}
		if !(d > 0) || math.IsInf(d, 0) {
			return false
		}
		d = math.Sqrt(d)
		a[j*n+j] = d
		for i := j + 1; i < n; i++ {
			s := a[i*n+j]
			for k := 0; k < j; k++ {
				s -= a[i*n+k] * a[j*n+k]
			}
			a[i*n+j] = s / d
		}
	}
	return true
}

// cholSolve overwrites x with a⁻¹x, given the factor from cholesky.
func cholSolve(l []float64, n int, x []float64) {
	for i := 0; i < n; i++ {
		s := x[i]
		for k := 0; k < i; k++ {
			s -= l[i*n+k] * x[k]
		}
		x[i] = s / l[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		s := x[i]
		for k := i + 1; k < n; k++ {
			s -= l[k*n+i] * x[k]
		}
		x[i] = s / l[i*n+i]
	}
}

// cholInverse writes a⁻¹ into out, given the factor from cholesky.
func cholInverse(l []float64, n int, out []float64) {
	col := make([]float64, n)
	for j := 0; j < n; j++ {
		for i := range col {
			col[i] = 0
		}
		col[j] = 1
		cholSolve(l, n, col)
		for i := 0; i < n; i++ {
			out[i*n+j] = col[i]
		}
	}
}

// cholLogDet is ln|a|, given the factor from cholesky.
func cholLogDet(l []float64, n int) float64 {
	s, product := 0.0, 1.0
	for i := 0; i < n; i++ {
		product *= l[i*n+i]
		// One logarithm for all of them, while it is safe.
		if product < 1e-100 || product > 1e100 {
			s += math.Log(product)
			product = 1
		}
	}
	return 2 * (s + math.Log(product))
}

// dot adds in four sums, which do not wait for each other.
// bilinear is xᵀMy of a square matrix by rows.
func bilinear(x []float64, m [][]float64, y []float64) (sum float64) {
	for i, v := range x {
		sum += v * dot(m[i], y)
	}
	return sum
}

func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	for len(a) >= 4 && len(b) >= 4 {
		s0 += a[0] * b[0]
		s1 += a[1] * b[1]
		s2 += a[2] * b[2]
		s3 += a[3] * b[3]
		a, b = a[4:], b[4:]
	}
	for i, x := range a {
		s0 += x * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}

// need returns a slice of length n, reusing buf where it is large enough.
func need(buf []float64, n int) []float64 {
	if cap(buf) < n {
		return make([]float64, n, n+n/2)
	}
	return buf[:n]
}

func zero(a []float64) {
	for i := range a {
		a[i] = 0
	}
}
