package fleet

import "math"

// A trait is measured from a dozen shots, not known: put into the model as if it were,
// its dependences come out too small by its reliability, and intervals of thousands
// of players close around the wrong value. Regression calibration puts in its place
// what is to be expected of the trait given all that was measured,
//
//	E[x | w] = μ + Σx·(Σx + Σu)⁻¹·(w − μ),  Σx = Σw − Σu,
//
// with Σw the covariance of measured traits between players and Σu the mean variance
// of their errors (Carroll, Ruppert, Stefanski & Crainiceanu, Measurement Error in
// Nonlinear Models, 2nd ed., 2006, ch. 4). What is left unknown of a player's trait
// makes his slope differ from what is expected, which the slopes by player take up.

// leastTrue is the share of a trait's variance that is taken to be true at least.
const leastTrue = 0.2

// calibrate fills Reliable and Calibrate, and takes the errors out of TraitCov; noise
// is the mean variance of the traits' errors, in their own units.
func (d *Design) calibrate(noise []float64) {
	n := len(d.Traits)
	u := make([]float64, n)
	any := false
	for i := range u {
		if e := noise[i] / (d.Spread[i] * d.Spread[i]); finite(e) && e > 0 {
			u[i], any = min(e, 1-leastTrue), true
		}
	}
	if !any {
		return
	}
	w := make([]float64, n*n)
	for i := range n {
		copy(w[i*n:(i+1)*n], d.TraitCov[i])
	}
	// Errors larger than some combination of traits can hold are taken as smaller.
	for try := 0; ; try++ {
		x := append([]float64(nil), w...)
		for i := range n {
			x[i*n+i] -= u[i]
		}
		if cholesky(x, n) {
			break
		}
		if try > 20 {
			return
		}
		for i := range u {
			u[i] *= 0.8
		}
	}
	l := append([]float64(nil), w...)
	if !cholesky(l, n) {
		return
	}
	inv := make([]float64, n*n)
	cholInverse(l, n, inv)
	d.Calibrate, d.Reliable = square(n), make([]float64, n)
	for i := range n {
		for k := range n {
			d.Calibrate[i][k] = -u[i] * inv[i*n+k]
		}
		d.Calibrate[i][i]++
		d.Reliable[i] = 1 - u[i]/d.TraitCov[i][i]
		d.TraitCov[i][i] -= u[i]
	}
}

// expected turns measured standard traits into those to be expected, in place.
func (d *Design) expected(z []float64) {
	if d.Calibrate == nil {
		return
	}
	w := append([]float64(nil), z...)
	for i := range z {
		z[i] = dot(d.Calibrate[i], w)
	}
}

// narrowing is how much narrower a trait's true range is than the measured one.
func (d *Design) narrowing(k int) float64 {
	if d.Reliable == nil {
		return 1
	}
	return math.Sqrt(d.Reliable[k])
}
