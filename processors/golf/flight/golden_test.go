package flight

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// goldenFile is what testdata/flight/golden.R writes: numbers computed with
// no code in common with this package.
type goldenFile struct {
	Flights []struct {
		BallSpeed   float64 `json:"ball_speed_mps"`
		Launch      float64 `json:"launch_deg"`
		Direction   float64 `json:"direction_deg"`
		Spin        float64 `json:"spin_rpm"`
		Axis        float64 `json:"axis_deg"`
		Model       string  `json:"model"`
		WindX       float64 `json:"wind_down_range_mps"`
		WindY       float64 `json:"wind_right_mps"`
		Carry       float64 `json:"carry_m"`
		Offline     float64 `json:"offline_m"`
		Apex        float64 `json:"apex_m"`
		Hang        float64 `json:"hang_s"`
		Landing     float64 `json:"landing_deg"`
		Speed       float64 `json:"landing_speed_mps"`
		LandingSpin float64 `json:"landing_spin_rpm"`
	} `json:"flights"`
	Bounces []struct {
		Speed        float64 `json:"speed_mps"`
		FromVertical float64 `json:"from_vertical_deg"`
		Spin         float64 `json:"spin_rad_s"`
		Along        float64 `json:"along_mps"`
		Up           float64 `json:"up_mps"`
		SpinAfter    float64 `json:"spin_after_rad_s"`
	} `json:"bounces"`
}

func readGolden(t *testing.T) goldenFile {
	t.Helper()
	raw, err := os.ReadFile("../../../testdata/flight/golden.json")
	if err != nil {
		t.Fatal(err)
	}
	var g goldenFile
	if err := json.Unmarshal(raw, &g); err != nil {
		t.Fatal(err)
	}
	if len(g.Flights) == 0 || len(g.Bounces) == 0 {
		t.Fatal("the golden file is empty: run Rscript golden.R > golden.json beside it")
	}
	return g
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: got %.6g, want %.6g ± %g", what, got, want, within)
	}
}

func TestGoldenFlights(t *testing.T) {
	for _, g := range readGolden(t).Flights {
		c := Standard()
		m, err := ModelNamed(g.Model)
		if err != nil {
			t.Fatal(err)
		}
		c.Model = m
		c.Wind = Wind{Speed: math.Hypot(g.WindX, g.WindY), From: math.Atan2(-g.WindY, -g.WindX) * 180 / math.Pi}
		r, err := Simulate(Launch{g.BallSpeed, g.Launch, g.Direction, g.Spin, g.Axis}, c)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "carry", r.Carry, g.Carry, 0.01)
		near(t, "offline", r.Offline, g.Offline, 0.01)
		near(t, "apex", r.Apex, g.Apex, 0.01)
		near(t, "hang time", r.HangTime, g.Hang, 0.001)
		near(t, "landing angle", r.LandingAngle, g.Landing, 0.01)
		near(t, "landing speed", r.LandingSpeed, g.Speed, 0.005)
		near(t, "landing spin", r.LandingSpin, g.LandingSpin, 0.5)
	}
}

// The published figures of the models, as rounded there.
func TestPublishedFlights(t *testing.T) {
	c := Standard()
	c.Model = Quintavalla()
	r, err := Simulate(Launch{BallSpeed: 70, Angle: 12, SpinRate: 2700}, c)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "carry", r.Carry, 230.85, 0.05)
	near(t, "apex", r.Apex, 29.60, 0.05)
	near(t, "landing", r.LandingAngle, 38.82, 0.05)
	near(t, "hang", r.HangTime, 6.659, 0.05)
	r, _ = Simulate(Launch{BallSpeed: 70, Angle: 12, SpinRate: 2700, SpinAxis: 10}, c)
	near(t, "carry tilted", r.Carry, 228.91, 0.05)
	near(t, "offline tilted", r.Offline, 17.43, 0.05)
	c.Model = Ferguson()
	r, _ = Simulate(Launch{BallSpeed: 70, Angle: 12, SpinRate: 2700}, c)
	near(t, "carry", r.Carry, 237.19, 0.1)
	near(t, "apex", r.Apex, 28.67, 0.1)
	near(t, "landing", r.LandingAngle, 37.12, 0.1)
}

func TestGoldenBounces(t *testing.T) {
	ground, radius := MediumGround(), StandardBall().Radius
	for _, g := range readGolden(t).Bounces {
		sin, cos := math.Sincos(g.FromVertical * math.Pi / 180)
		// Turned about the vertical, the bounce must be the same.
		for _, turn := range []float64{0, 0.7, -2.1} {
			st, ct := math.Sincos(turn)
			b := ground.bounce(touchdown{
				vx: g.Speed * sin * ct, vy: g.Speed * sin * st, vz: -g.Speed * cos,
				wx: -g.Spin * st, wy: g.Spin * ct,
			}, radius)
			near(t, "along", b.vx*ct+b.vy*st, g.Along, 1e-3)
			near(t, "beside", b.vy*ct-b.vx*st, 0, 1e-9)
			near(t, "up", b.vz, g.Up, 1e-3)
			near(t, "spin", b.wy*ct-b.wx*st, g.SpinAfter, 1e-2)
		}
	}
}

func TestAir(t *testing.T) {
	near(t, "standard", StandardAir().Density, 1.2250, 1e-9)
	a, err := AirAt(15, 101325, 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "15 °C dry", a.Density, 1.2250, 5e-5)
	near(t, "viscosity", a.Viscosity, 1.789e-5, 1e-8)
	a, _ = AirAt(25, 101325, 0.5)
	near(t, "25 °C 50 %", a.Density, 1.1769, 5e-5)
	a, _ = AirAtAltitude(TemperatureAt(1609), 1609, 0)
	near(t, "1609 m", a.Density, 1.0466, 5e-5)
}
