package club

import (
	"math"
	"slices"
)

// Spec names one figure of a finished club.
type Spec string

// What a shop measures on a finished club, each in the unit of its tolerance.
const (
	SpecLoft        Spec = "loft"        // deg
	SpecLie         Spec = "lie"         // deg
	SpecFaceAngle   Spec = "face_angle"  // deg
	SpecLength      Spec = "length"      // m
	SpecSwingWeight Spec = "swingweight" // points
	SpecMass        Spec = "mass"        // kg, whole club
	SpecHeadMass    Spec = "head_mass"   // kg
	SpecGripMass    Spec = "grip_mass"   // kg
	SpecFrequency   Spec = "frequency"   // cpm
	SpecInertia     Spec = "inertia"     // kg·m²
)

// Tolerances is how far a built club may be from its specification, ± in the
// unit of each Spec.
type Tolerances map[Spec]float64

// DefaultTolerances is what a careful shop commonly holds with ordinary
// gauges. These are working defaults for a studio to replace by what it has
// agreed with its shop; no norm says them.
func DefaultTolerances() Tolerances {
	return Tolerances{
		SpecLoft: 0.5, SpecLie: 0.5, SpecFaceAngle: 0.5,
		SpecLength: Inch / 16, SpecSwingWeight: 0.5,
		SpecMass: 0.002, SpecHeadMass: 0.001, SpecGripMass: 0.002,
		SpecFrequency: 2, SpecInertia: 0.0015,
	}
}

// Specs lists the figures in a fixed order.
func Specs() []Spec {
	return []Spec{SpecLength, SpecLoft, SpecLie, SpecFaceAngle, SpecSwingWeight, SpecMass, SpecHeadMass, SpecGripMass, SpecFrequency,
		SpecInertia}
}

// Finish is one figure of a finished club against its specification.
type Finish struct {
	Spec          Spec
	Wanted, Built float64
	Off           float64 // Built − Wanted
	Tolerance     float64 // ±
	Within        bool
}

// CheckBuild compares what was measured on a finished club with what was
// ordered. Figures that only one side has are left out: an unmeasured figure
// is neither in nor out of tolerance. A figure without tolerance is an error.
func CheckBuild(wanted, built map[Spec]float64, tol Tolerances) ([]Finish, error) {
	var out []Finish
	for _, side := range []map[Spec]float64{wanted, built} {
		for s, v := range side {
			if !slices.Contains(Specs(), s) {
				return nil, &InputError{Field: "figure", Value: string(s), Reason: "is not known", Try: "see the list of specs"}
			}
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, &InputError{Field: string(s), Value: "", Reason: "is no number", Try: "leave out what was not measured"}
			}
		}
	}
	for _, s := range Specs() {
		w, ordered := wanted[s]
		b, measured := built[s]
		if !ordered || !measured {
			continue
		}
		t, ok := tol[s]
		if !ok || math.IsNaN(t) || t < 0 {
			return nil, &InputError{Field: "tolerance of " + string(s), Value: "", Reason: "is missing or negative",
				Try: "start from DefaultTolerances"}
		}
		// A hair of slack: 34.5 against 34 is within ±0.5 whatever the rounding.
		out = append(out, Finish{s, w, b, b - w, t, math.Abs(b-w) <= t*(1+1e-9)+1e-12})
	}
	return out, nil
}
