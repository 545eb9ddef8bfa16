package flight

import (
	"math"
	"testing"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

func launches() *rapid.Generator[Launch] {
	return rapid.Custom(func(t *rapid.T) Launch {
		return Launch{
			BallSpeed: rapid.Float64Range(20, 90).Draw(t, "ball speed"),
			Angle:     rapid.Float64Range(1, 60).Draw(t, "angle"),
			Direction: rapid.Float64Range(-30, 30).Draw(t, "direction"),
			SpinRate:  rapid.Float64Range(0, 12000).Draw(t, "spin"),
			SpinAxis:  rapid.Float64Range(-45, 45).Draw(t, "axis"),
		}
	})
}

func airs() *rapid.Generator[Conditions] {
	return rapid.Custom(func(t *rapid.T) Conditions {
		c := Standard()
		c.Model = rapid.SampledFrom(Models()).Draw(t, "model")
		c.Air.Density = rapid.Float64Range(0.9, 1.35).Draw(t, "density")
		c.Wind = Wind{rapid.Float64Range(0, 12).Draw(t, "wind"), rapid.Float64Range(0, 360).Draw(t, "from")}
		return c
	})
}

func simulate(t *rapid.T, l Launch, c Conditions) Result {
	r, err := Simulate(l, c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func same(t *rapid.T, what string, a, b, within float64) {
	if !(math.Abs(a-b) <= within) {
		t.Fatalf("%s: %g and %g differ", what, a, b)
	}
}

// A left-handed player's shot is the right-handed one seen in a mirror.
func TestMirrorSymmetry(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		l, c := launches().Draw(t, "launch"), airs().Draw(t, "air")
		a, b := simulate(t, l, c), simulate(t, l.Mirrored(), c.Mirrored())
		same(t, "carry", a.Carry, b.Carry, 1e-6)
		same(t, "offline", a.Offline, -b.Offline, 1e-6)
		same(t, "curve", a.Curve, -b.Curve, 1e-6)
		same(t, "apex", a.Apex, b.Apex, 1e-6)
		same(t, "landing", a.LandingAngle, b.LandingAngle, 1e-6)
		same(t, "total", a.Total, b.Total, 1e-3)
		same(t, "total offline", a.TotalOffline, -b.TotalOffline, 1e-3)
		if a.Flags != b.Flags {
			t.Fatalf("flags %v and %v", a.Flags, b.Flags)
		}
	})
}

// Turning the launch and the wind together turns the landing with them.
func TestRotationInvariance(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		l, c := launches().Draw(t, "launch"), airs().Draw(t, "air")
		turn := rapid.Float64Range(-90, 90).Draw(t, "turn")
		a := simulate(t, l, c)
		l.Direction += turn
		c.Wind.From = math.Mod(c.Wind.From+turn, 360)
		b := simulate(t, l, c)
		sin, cos := math.Sincos(turn * math.Pi / 180)
		// Where the ball all but stops in mid-air the last digits of a sine matter.
		same(t, "carry", b.Carry, a.Carry*cos-a.Offline*sin, 5e-3)
		same(t, "offline", b.Offline, a.Carry*sin+a.Offline*cos, 5e-3)
		same(t, "hang time", b.HangTime, a.HangTime, 1e-3)
	})
}

// The path does not depend on where it is begun to be watched: restarted from
// a point on it, moved elsewhere, it lands where it would have.
func TestTranslationInvariance(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		l, c := launches().Draw(t, "launch"), Standard()
		dx, dy := rapid.Float64Range(-500, 500).Draw(t, "x"), rapid.Float64Range(-500, 500).Draw(t, "y")
		whole := simulate(t, l, c)
		var p stepper
		p.start(&l, &c)
		p.next()
		if p.seg.to.t >= whole.HangTime {
			return
		}
		p.seg.to.x += dx
		p.seg.to.y += dy
		var apex float64
		for p.seg.to.t < longestFlight {
			p.next()
			if u, landed := p.seg.landing(0, &apex); landed {
				s := p.seg.at(u)
				same(t, "x", s.x, whole.Carry+dx, 1e-6)
				same(t, "y", s.y, whole.Offline+dy, 1e-6)
				return
			}
		}
		t.Fatal("never lands")
	})
}

// Without spin there is no lift, and a drive falls short.
func TestSpinFreeFallsShort(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		l := Launch{BallSpeed: rapid.Float64Range(45, 80).Draw(t, "ball speed"), Angle: rapid.Float64Range(5, 16).Draw(t, "angle")}
		c := Standard()
		c.Model = rapid.SampledFrom(Models()).Draw(t, "model")
		dead := simulate(t, l, c)
		if dead.Flags&SpinRatioLow == 0 {
			t.Fatal("no flag for a ball without spin")
		}
		l.SpinRate = rapid.Float64Range(2000, 3500).Draw(t, "spin")
		if alive := simulate(t, l, c); alive.Carry <= dead.Carry*1.03 {
			t.Fatalf("%g m with spin, %g m without", alive.Carry, dead.Carry)
		}
	})
}

// Where drag rather than lift decides, denser air carries less; it always
// makes the ball lose more speed. A low ball with little spin is another case:
// it needs the lift, and gains from a little more air.
func TestDenserAirCarriesLess(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		l := Launch{
			BallSpeed: rapid.Float64Range(60, 85).Draw(t, "ball speed"),
			Angle:     rapid.Float64Range(13, 25).Draw(t, "angle"),
			SpinRate:  rapid.Float64Range(2800, 7000).Draw(t, "spin"),
		}
		thin, thick := Standard(), Standard()
		thin.Model = rapid.SampledFrom([]Model{Ferguson(), Quintavalla()}).Draw(t, "model")
		thick.Model = thin.Model
		thin.Air.Density = rapid.Float64Range(0.95, 1.2).Draw(t, "density")
		thick.Air.Density = thin.Air.Density * 1.08
		a, b := simulate(t, l, thin), simulate(t, l, thick)
		if a.Carry <= b.Carry {
			t.Fatalf("%g m in thin air, %g m in thick", a.Carry, b.Carry)
		}
		if a.LandingSpeed <= b.LandingSpeed {
			t.Fatalf("lands at %g m/s in thin air, %g in thick", a.LandingSpeed, b.LandingSpeed)
		}
	})
}

// Whatever is put in, the answer is an error or numbers.
func TestNeverNaN(t *testing.T) {
	odd := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-200, 200),
		rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, -1, 1e-300}))
	mild := rapid.OneOf(rapid.Float64Range(-100, 100), odd)
	proof.Check(t, func(t *rapid.T) {
		l := Launch{mild.Draw(t, "v"), mild.Draw(t, "a"), mild.Draw(t, "d"), rapid.OneOf(rapid.Float64Range(0, 20000), odd).Draw(t, "s"),
			mild.Draw(t, "t")}
		c := Standard()
		c.Model = rapid.SampledFrom(Models()).Draw(t, "model")
		c.Wind = Wind{rapid.OneOf(rapid.Float64Range(0, 40), odd).Draw(t, "wind"), mild.Draw(t, "from")}
		c.LandingHeight = rapid.OneOf(rapid.Float64Range(-100, 100), odd).Draw(t, "height")
		c.Ground.Crater = rapid.OneOf(rapid.Float64Range(0, 45), odd).Draw(t, "crater")
		r, err := Simulate(l, c)
		if err != nil {
			if r != (Result{}) {
				t.Fatalf("an error with a result: %+v", r)
			}
			return
		}
		for _, v := range []float64{r.Carry, r.Offline, r.Apex, r.HangTime, r.LandingAngle, r.LandingSpeed, r.LandingSpin, r.Curve, r.Total,
			r.TotalOffline} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%+v gives %+v", l, r)
			}
		}
	})
}
