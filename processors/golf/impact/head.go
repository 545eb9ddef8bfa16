package impact

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/flight"
)

// Head is the part of the club that meets the ball. A zero radius means a flat
// face; zero inertia a head that cannot turn.
type Head struct {
	Mass            float64 // kg
	InertiaVertical float64 // kg m², about the vertical axis: resists twisting by toe and heel strikes
	InertiaHeelToe  float64 // kg m², about the heel-to-toe axis: resists high and low strikes
	Depth           float64 // m of the centre of gravity behind the face; the arm of the gear effect
	SweetX, SweetY  float64 // m from the face's centre to where the normal through the centre of gravity meets the face
	Bulge           float64 // m, horizontal radius of the face
	Roll            float64 // m, vertical radius of the face

	// Calibrated, see the package comment.

	// Restitution, when above 0, is the coefficient of restitution e. At 0 it is
	// RestitutionAtRest - RestitutionSlope·v·cosθ, θ the spin loft.
	Restitution       float64
	RestitutionAtRest float64
	RestitutionSlope  float64 // per m/s
	// Grip is how much more (or less, below 0) tangential speed the ball leaves
	// with than rolling asks for: 0 rolls, as printed by Penner.
	Grip float64
	// Friction caps the tangential impulse at this times the normal one; 0 means
	// no cap. A wet or grassy face has a third of a dry one.
	Friction float64
	// Contact is how long the ball stays on the face, s: half of the head's
	// turning in that time counts for where the face points.
	Contact float64
}

// Penner's restitution for the heads of his time (Am. J. Phys. 69:563, 2001).
const (
	pennerAtRest = 0.86
	pennerSlope  = 0.0029
	contactTime  = 0.00045 // s, about 0.45 ms (Cochran and Stobbs, The Search for the Perfect Swing, 1968)
)

// PennerHead is a head as Penner's equations have it: no gear, no twisting, a
// flat face, the ball leaves rolling.
func PennerHead(mass float64) Head {
	return Head{Mass: mass, RestitutionAtRest: pennerAtRest, RestitutionSlope: pennerSlope}
}

// DefaultHead is a typical head of a category. Mass, inertia, depth and radii
// are ordinary for the trade; Restitution, Grip and Friction are calibrated as
// the package comment says:
//
//   - driver: restitution 0.85 (heads are tested to about 0.83 at one speed; the
//     rest stands for the shaft's tip that moves along), grip -0.27: the ball
//     leaves with less spin than rolling, since the face is smooth and gives way
//     and typical strikes sit above the centre of gravity.
//   - irons and wedges: Penner's restitution, grip +0.25 and +0.30: the cover springs back
//     sideways, so that the ball leaves spinning faster than it would roll.
//   - woods and hybrids lie between.
//   - putter: a rolled ball starts after skidding; see the green, not this model.
func DefaultHead(category string) (Head, error) {
	switch strings.ToLower(strings.TrimSpace(category)) {
	case "driver":
		return Head{Mass: 0.200, InertiaVertical: 4800e-7, InertiaHeelToe: 3000e-7, Depth: 0.035, Bulge: 0.305, Roll: 0.305,
			Restitution: 0.85, Grip: -0.27, Friction: 0.40, Contact: contactTime}, nil
	case "wood":
		return Head{Mass: 0.215, InertiaVertical: 2800e-7, InertiaHeelToe: 1700e-7, Depth: 0.025, Bulge: 0.254, Roll: 0.254,
			Restitution: 0.83, Grip: -0.10, Friction: 0.40, Contact: contactTime}, nil
	case "hybrid":
		return Head{Mass: 0.240, InertiaVertical: 2600e-7, InertiaHeelToe: 1400e-7, Depth: 0.017, Bulge: 0.38, Roll: 0.38,
			Restitution: 0.81, Friction: 0.40, Contact: contactTime}, nil
	case "iron":
		return Head{Mass: 0.270, InertiaVertical: 2500e-7, InertiaHeelToe: 1000e-7, Depth: 0.007,
			RestitutionAtRest: pennerAtRest, RestitutionSlope: pennerSlope, Grip: 0.25, Friction: 0.40, Contact: contactTime}, nil
	case "wedge":
		return Head{Mass: 0.300, InertiaVertical: 2900e-7, InertiaHeelToe: 1200e-7, Depth: 0.005,
			RestitutionAtRest: pennerAtRest, RestitutionSlope: pennerSlope, Grip: 0.30, Friction: 0.40, Contact: contactTime}, nil
	case "putter":
		return Head{Mass: 0.350, InertiaVertical: 4500e-7, InertiaHeelToe: 1500e-7, Depth: 0.012,
			Restitution: 0.80, Friction: 0.40, Contact: contactTime}, nil
	}
	return Head{}, fmt.Errorf("no default head for category %q: use one of %s", category, strings.Join(glossary.CategoryNames(), ", "))
}

// Check returns a *flight.InputError when the head cannot be computed with.
func (h *Head) Check() error {
	for _, in := range [...]struct {
		field, unit, want string
		v, low, high      float64
	}{
		{"head mass", "kg", "0.05 to 1 kg", h.Mass, 0.05, 1},
		{"head inertia about the vertical", "kg m²", "0 (cannot turn) to 0.01 kg m²", h.InertiaVertical, 0, 0.01},
		{"head inertia about heel to toe", "kg m²", "0 (cannot turn) to 0.01 kg m²", h.InertiaHeelToe, 0, 0.01},
		{"depth of the centre of gravity", "m", "0 to 0.1 m", h.Depth, 0, 0.1},
		{"sweet spot x", "m", "-0.03 to 0.03 m", h.SweetX, -0.03, 0.03},
		{"sweet spot y", "m", "-0.03 to 0.03 m", h.SweetY, -0.03, 0.03},
		{"bulge radius", "m", "0 (flat) or 0.1 to 10 m", radius(h.Bulge), 0.1, 10},
		{"roll radius", "m", "0 (flat) or 0.1 to 10 m", radius(h.Roll), 0.1, 10},
		{"restitution", "", "0 (from speed) to 0.95", h.Restitution, 0, 0.95},
		{"restitution at rest", "", "0 to 1", h.RestitutionAtRest, 0, 1},
		{"slope of restitution", "per m/s", "0 to 0.01", h.RestitutionSlope, 0, 0.01},
		{"grip", "", "-0.9 to 0.9", h.Grip, -0.9, 0.9},
		{"friction", "", "0 (no limit) to 2", h.Friction, 0, 2},
		{"contact time", "s", "0 to 0.001 s", h.Contact, 0, 0.001},
	} {
		if !(in.v >= in.low && in.v <= in.high) {
			return &flight.InputError{Field: in.field, Value: in.v, Unit: in.unit, Want: in.want}
		}
	}
	return nil
}

// radius lets a flat face pass the check on radii.
func radius(r float64) float64 {
	if r == 0 {
		return 1
	}
	return r
}
