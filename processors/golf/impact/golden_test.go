package impact

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// goldenFile is what testdata/impact/golden.R writes, straight from the
// published formulas.
type goldenFile struct {
	Penner []struct {
		HeadSpeed   float64 `json:"head_speed_mps"`
		SpinLoft    float64 `json:"spin_loft_deg"`
		Mass        float64 `json:"head_mass_kg"`
		Restitution float64 `json:"restitution"`
		BallSpeed   float64 `json:"ball_speed_mps"`
		Launch      float64 `json:"launch_deg"`
		Spin        float64 `json:"spin_rpm"`
	} `json:"penner"`
	Offset []struct {
		Offset      float64 `json:"offset_m"`
		Mass        float64 `json:"head_mass_kg"`
		Inertia     float64 `json:"head_inertia_kgm2"`
		Restitution float64 `json:"restitution"`
		Smash       float64 `json:"smash"`
	} `json:"offset"`
	DPlane []struct {
		Loft     float64 `json:"dynamic_loft_deg"`
		Attack   float64 `json:"attack_deg"`
		Face     float64 `json:"face_deg"`
		Path     float64 `json:"path_deg"`
		SpinLoft float64 `json:"spin_loft_deg"`
		Axis     float64 `json:"axis_deg"`
	} `json:"dplane"`
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: got %.6g, want %.6g ± %g", what, got, want, within)
	}
}

func strike(t *testing.T, d Delivery, h Head) Result {
	t.Helper()
	r, err := Strike(d, h)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestGolden(t *testing.T) {
	raw, err := os.ReadFile("../../../testdata/impact/golden.json")
	if err != nil {
		t.Fatal(err)
	}
	var g goldenFile
	if err := json.Unmarshal(raw, &g); err != nil {
		t.Fatal(err)
	}
	if len(g.Penner) == 0 || len(g.Offset) == 0 || len(g.DPlane) == 0 {
		t.Fatal("the golden file is empty: run Rscript golden.R > golden.json beside it")
	}
	for _, x := range g.Penner {
		// The attack adds to the launch and takes from the loft what it adds to
		// the spin loft: the ball does not know what is level.
		for _, attack := range []float64{0, -4, 5} {
			r := strike(t, Delivery{HeadSpeed: x.HeadSpeed, Attack: attack, DynamicLoft: x.SpinLoft + attack}, PennerHead(x.Mass))
			near(t, "restitution", r.Restitution, x.Restitution, 1e-6)
			near(t, "ball speed", r.Launch.BallSpeed, x.BallSpeed, 1e-4)
			near(t, "launch", r.Launch.Angle, x.Launch+attack, 1e-4)
			near(t, "spin", r.Launch.SpinRate, x.Spin, 0.01)
			near(t, "spin loft", r.SpinLoft, x.SpinLoft, 1e-9)
			near(t, "smash", r.Smash, x.BallSpeed/x.HeadSpeed, 1e-6)
			near(t, "direction", r.Launch.Direction, 0, 1e-12)
			near(t, "axis", r.Launch.SpinAxis, 0, 1e-9)
		}
	}
	for _, x := range g.Offset {
		h := PennerHead(x.Mass)
		h.InertiaVertical, h.Restitution = x.Inertia, x.Restitution
		for _, side := range []float64{1, -1} {
			r := strike(t, Delivery{HeadSpeed: 45, StrikeX: side * x.Offset}, h)
			near(t, "smash off the centre", r.Smash, x.Smash, 1e-6)
		}
	}
	for _, x := range g.DPlane {
		r := strike(t, Delivery{HeadSpeed: 45, Attack: x.Attack, DynamicLoft: x.Loft, Face: x.Face, Path: x.Path}, PennerHead(0.2))
		near(t, "spin loft", r.SpinLoft, x.SpinLoft, 1e-4)
		near(t, "axis", r.Launch.SpinAxis, x.Axis, 1e-4)
	}
}

// The published figures, as rounded there.
func TestPublished(t *testing.T) {
	r := strike(t, Delivery{HeadSpeed: 45, DynamicLoft: 13.1}, PennerHead(0.2))
	near(t, "e", r.Restitution, 0.7329, 0.0007)
	near(t, "ball speed", r.Launch.BallSpeed, 61.83, 0.06)
	near(t, "launch", r.Launch.Angle, 10.565, 0.01)
	near(t, "spin", r.Launch.SpinRate, 3058, 3)
	r = strike(t, Delivery{HeadSpeed: 45, Attack: -1, DynamicLoft: 13, Face: 3}, PennerHead(0.2))
	near(t, "tilt", r.Launch.SpinAxis, 11.90, 0.012)
}
