package impact

import "math"

// vec is a vector in right-handed axes: x to the target, y to the left, z up.
type vec struct{ x, y, z float64 }

func (a vec) add(b vec) vec       { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vec) sub(b vec) vec       { return vec{a.x - b.x, a.y - b.y, a.z - b.z} }
func (a vec) times(f float64) vec { return vec{a.x * f, a.y * f, a.z * f} }
func (a vec) dot(b vec) float64   { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) length() float64     { return math.Sqrt(a.dot(a)) }
func (a vec) cross(b vec) vec     { return vec{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x} }

// pointing is the unit vector at an elevation and a direction right of the
// target, both in deg.
func pointing(elevation, right float64) vec {
	se, ce := math.Sincos(elevation * math.Pi / 180)
	sr, cr := math.Sincos(right * math.Pi / 180)
	return vec{ce * cr, -ce * sr, se}
}

// angles is the inverse of pointing for a vector of any length.
func (a vec) angles() (elevation, right float64) {
	return degrees(math.Atan2(a.z, math.Hypot(a.x, a.y))), degrees(math.Atan2(-a.y, a.x))
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }
