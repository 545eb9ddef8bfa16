package flight

import (
	"errors"
	"math"
	"testing"
)

func TestBadInputIsTyped(t *testing.T) {
	good := Launch{BallSpeed: 60, Angle: 12, SpinRate: 3000}
	for name, change := range map[string]func(*Launch, *Conditions){
		"NaN speed":      func(l *Launch, _ *Conditions) { l.BallSpeed = math.NaN() },
		"negative speed": func(l *Launch, _ *Conditions) { l.BallSpeed = -60 },
		"no speed":       func(l *Launch, _ *Conditions) { l.BallSpeed = 0 },
		"steep":          func(l *Launch, _ *Conditions) { l.Angle = 95 },
		"direction":      func(l *Launch, _ *Conditions) { l.Direction = math.Inf(1) },
		"negative spin":  func(l *Launch, _ *Conditions) { l.SpinRate = -1 },
		"axis":           func(l *Launch, _ *Conditions) { l.SpinAxis = 400 },
		"no air":         func(_ *Launch, c *Conditions) { c.Air = Air{} },
		"wind":           func(_ *Launch, c *Conditions) { c.Wind.Speed = -3 },
		"ball":           func(_ *Launch, c *Conditions) { c.Ball.Mass = 0 },
		"model":          func(_ *Launch, c *Conditions) { c.Model = Model{} },
		"coefficient":    func(_ *Launch, c *Conditions) { c.Model.Drag[1] = math.NaN() },
		"height":         func(_ *Launch, c *Conditions) { c.LandingHeight = math.NaN() },
		"ground":         func(_ *Launch, c *Conditions) { c.Ground.Roll = 0 },
	} {
		l, c := good, Standard()
		change(&l, &c)
		var input *InputError
		if r, err := Simulate(l, c); !errors.As(err, &input) || r != (Result{}) {
			t.Errorf("%s: %+v, %v", name, r, err)
		} else if input.Want == "" || input.Field == "" {
			t.Errorf("%s: the error does not say what to give: %v", name, err)
		}
	}
	if _, err := AirAt(15, 101325, 50); err == nil {
		t.Error("a humidity of 50 (not a fraction) is taken")
	}
	if _, err := AirAtAltitude(15, 1e5, 0); err == nil {
		t.Error("an altitude of 100 km is taken")
	}
	if _, err := ModelNamed("nobody"); err == nil {
		t.Error("an unknown model is taken")
	}
}

func TestFlags(t *testing.T) {
	for name, x := range map[string]struct {
		l    Launch
		want Flags
	}{
		"drive":           {Launch{BallSpeed: 70, Angle: 12, SpinRate: 2700}, 0},
		"iron":            {Launch{BallSpeed: 53, Angle: 17, SpinRate: 6800}, 0},
		"slow, no spin":   {Launch{BallSpeed: 22, Angle: 20, SpinRate: 900}, LowReynolds | RunExtrapolated},
		"wedge":           {Launch{BallSpeed: 35, Angle: 32, SpinRate: 11000}, SpinRatioHigh},
		"knuckle":         {Launch{BallSpeed: 60, Angle: 14, SpinRate: 200}, SpinRatioLow | RunExtrapolated},
		"beyond":          {Launch{BallSpeed: 95, Angle: 12, SpinRate: 2700}, OutsideDomain},
		"into the ground": {Launch{BallSpeed: 40, Angle: -4, SpinRate: 2700}, NoFlight | RunExtrapolated},
	} {
		r, err := Simulate(x.l, Standard())
		if err != nil {
			t.Fatal(err)
		}
		if r.Flags != x.want {
			t.Errorf("%s: flags %q, want %q", name, r.Flags, x.want)
		}
		if x.want&NoFlight != 0 && (r.Carry != 0 || r.HangTime != 0 || r.Total <= 0) {
			t.Errorf("%s: %+v", name, r)
		}
	}
}

// The lift of a slow ball with little spin is taken away, and only that.
func TestLiftCollapse(t *testing.T) {
	c := Standard()
	f := newForces(&Launch{BallSpeed: 20, SpinRate: 900}, &c)
	lift := func(v, spin float64) float64 { r := f.at(v, 0, 0, spin); return r.az + Gravity }
	slow := 0.9 * f.vGone
	if got := lift(slow, 0.1*slow/f.radius); got != 0 {
		t.Errorf("lift at spin ratio 0.1 below Re 5e4 is %g m/s²", got)
	}
	if got := lift(slow, 0.3*slow/f.radius); got <= 0 {
		t.Errorf("lift at spin ratio 0.3 is gone: %g m/s²", got)
	}
	if got := lift(1.01*f.vLimit, 0.1*f.vLimit/f.radius); got <= 0 {
		t.Errorf("lift above Re 7e4 is gone: %g m/s²", got)
	}
	near(t, "speed at Re 7e4", f.vLimit, 23.96, 0.01)
}

func TestLandingHeight(t *testing.T) {
	l, c := Launch{BallSpeed: 60, Angle: 14, SpinRate: 3500}, Standard()
	level, _ := Simulate(l, c)
	c.LandingHeight = -10
	down, _ := Simulate(l, c)
	c.LandingHeight = 10
	up, _ := Simulate(l, c)
	if !(up.Carry < level.Carry && level.Carry < down.Carry) {
		t.Errorf("up %g, level %g, down %g", up.Carry, level.Carry, down.Carry)
	}
	c.LandingHeight = level.Apex + 1
	if _, err := Simulate(l, c); !errors.Is(err, ErrNeverReaches) {
		t.Errorf("landing above the apex: %v", err)
	}
	// A ball that starts downwards off a tee peg dips, and with spin may climb.
	c.LandingHeight = -0.05
	dip, err := Simulate(Launch{BallSpeed: 70, Angle: -1, SpinRate: 3000}, c)
	if err != nil || dip.Carry <= 0 || dip.Carry > 10 {
		t.Errorf("dip: %+v, %v", dip, err)
	}
}

func TestWindDirections(t *testing.T) {
	l, c := Launch{BallSpeed: 65, Angle: 13, SpinRate: 3000}, Standard()
	calm, _ := Simulate(l, c)
	blow := func(from float64) Result {
		c.Wind = Wind{Speed: 6, From: from}
		r, err := Simulate(l, c)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	if r := blow(0); r.Carry >= calm.Carry || r.LandingAngle <= calm.LandingAngle {
		t.Errorf("a head wind: %+v", r)
	}
	if r := blow(180); r.Carry <= calm.Carry {
		t.Errorf("a tail wind: %+v", r)
	}
	if r := blow(90); r.Offline >= 0 {
		t.Errorf("wind from the right: %+v", r)
	}
}

func TestPath(t *testing.T) {
	l, c := Launch{70, 12, 2, 2700, 10}, Standard()
	c.Wind = Wind{4, 30}
	r, _ := Simulate(l, c)
	p, err := Path(l, c, 200)
	if err != nil || len(p) != 200 {
		t.Fatal(len(p), err)
	}
	if p[0] != (Point{}) {
		t.Errorf("starts at %+v", p[0])
	}
	near(t, "end", miss(p[199].X, p[199].Y, r.Carry, r.Offline), 0, 1e-9)
	high := 0.0
	for i := 1; i < len(p); i++ {
		high = max(high, p[i].Z)
		near(t, "time step", p[i].T-p[i-1].T, r.HangTime/199, 1e-9)
		if d := math.Hypot(p[i].X-p[i-1].X, p[i].Z-p[i-1].Z); d > 70*r.HangTime/199*1.01 {
			t.Fatalf("a jump of %g m at point %d", d, i)
		}
	}
	near(t, "apex", high, r.Apex, 0.01)
	if _, err := Path(l, c, 1); err == nil {
		t.Error("a path of one point is taken")
	}
	if p, err := Path(Launch{BallSpeed: 30, Angle: -5, SpinRate: 100}, Standard(), 5); err != nil || len(p) != 5 {
		t.Errorf("no flight: %v, %v", p, err)
	}
}

func TestStandardAirCarry(t *testing.T) {
	l, c := Launch{BallSpeed: 70, Angle: 12, SpinRate: 2700}, Standard()
	standard, _ := Simulate(l, c)
	c.Air, _ = AirAtAltitude(30, 1600, 0.3)
	high, _ := Simulate(l, c)
	// A ball that carries 2 % more than the model does so in any air.
	got, err := StandardAirCarry(1.02*high.Carry, l, c, false)
	if err != nil || !got.Applied {
		t.Fatal(got, err)
	}
	near(t, "standard carry", got.Carry, 1.02*standard.Carry, 1e-9)
	got, err = StandardAirCarry(200, l, c, true)
	if err != nil || got.Applied || got.Carry != 200 || got.Ratio != 1 {
		t.Errorf("an adjusted carry was adjusted: %+v, %v", got, err)
	}
	if got, _ := StandardAirCarry(200, l, Standard(), false); got.Carry != 200 {
		t.Errorf("standard air changes a carry: %+v", got)
	}
	if _, err := StandardAirCarry(2, Launch{BallSpeed: 5, Angle: 10, SpinRate: 500}, c, false); !errors.Is(err, ErrTooShort) {
		t.Errorf("a chip: %v", err)
	}
	var input *InputError
	if _, err := StandardAirCarry(math.NaN(), l, c, true); !errors.As(err, &input) {
		t.Errorf("NaN carry: %v", err)
	}
}

// More firmness runs farther, more spin less, and a tilted axis kicks aside.
func TestRun(t *testing.T) {
	run := func(l Launch, g Ground) Result {
		c := Standard()
		c.Ground = g
		r, err := Simulate(l, c)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	drive := Launch{BallSpeed: 70, Angle: 12, SpinRate: 2500}
	soft, medium, firm := run(drive, SoftGround()), run(drive, MediumGround()), run(drive, FirmGround())
	if !(soft.Run() < medium.Run() && medium.Run() < firm.Run()) {
		t.Errorf("soft %g, medium %g, firm %g", soft.Run(), medium.Run(), firm.Run())
	}
	if r := medium.Run(); r < 10 || r > 45 {
		t.Errorf("a drive runs %g m", r)
	}
	wedge := run(Launch{BallSpeed: 38, Angle: 30, SpinRate: 10000}, MediumGround())
	if r := wedge.Run(); r < -8 || r > 4 {
		t.Errorf("a wedge runs %g m", r)
	}
	tilted := run(Launch{BallSpeed: 70, Angle: 12, SpinRate: 2500, SpinAxis: 15}, MediumGround())
	if tilted.TotalOffline <= tilted.Offline {
		t.Errorf("a ball curving right runs left: %+v", tilted)
	}
}

func TestNothingIsAllocated(t *testing.T) {
	l, c := Launch{70, 12, 1, 2700, 5}, Standard()
	if n := testing.AllocsPerRun(100, func() {
		if _, err := Simulate(l, c); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%g allocations a flight", n)
	}
}
