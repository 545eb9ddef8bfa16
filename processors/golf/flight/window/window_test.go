package window

import (
	"errors"
	"math"
	"testing"

	"fairlead/processors/golf/flight"
)

func find(t *testing.T, p Player, g Goal) *Window {
	t.Helper()
	w, err := Find(p, g, flight.Standard())
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// The best is what a plain scan of the line finds, and the loss of everything
// else is measured against it.
func TestBestOfTheLine(t *testing.T) {
	for _, g := range []Goal{Carry, Green} {
		p := Player{BallSpeed: 66, Attack: 1, Category: "driver", WantedCarry: 0}
		if g == Green {
			p.Category, p.BallSpeed, p.Attack, p.WantedCarry = "iron", 52, -4, 145
		}
		w := find(t, p, g)
		for _, r := range w.Line {
			if r.Loss < -1e-9 {
				t.Errorf("%s: %.1f deg of loft beats the best by %g m", g, r.DynamicLoft, -r.Loss)
			}
		}
		if w.Best.Loss != 0 || !w.In(w.Best.Point) {
			t.Errorf("%s: the best is %+v", g, w.Best)
		}
		low, high := w.LineRange()
		if !(low.Launch <= w.Best.Launch && w.Best.Launch <= high.Launch) {
			t.Errorf("%s: the window runs from %.1f to %.1f deg, the best is at %.1f", g, low.Launch, high.Launch, w.Best.Launch)
		}
		if g == Carry {
			if d := w.Within - 0.02*w.Best.Carry; math.Abs(d) > 1e-9 {
				t.Errorf("the window is %g m", w.Within)
			}
		} else if math.Abs(w.Best.Carry-145) > 0.021*145 {
			t.Errorf("the green is wanted at 145 m and the best carries %.1f", w.Best.Carry)
		}
	}
}

// The optimum moves as published work has it: a rising attack wants more
// launch and less spin and carries farther (Penner 2001); a slower ball wants
// more loft; and at 45 m/s with a 200 g head the loft for carry lies near the
// published 14.9 deg (Penner 2003), with other models of head and ball.
func TestOptimumMovesAsItShould(t *testing.T) {
	down, up := find(t, Player{BallSpeed: 70, Attack: -4, Category: "driver"}, Carry),
		find(t, Player{BallSpeed: 70, Attack: 4, Category: "driver"}, Carry)
	if !(up.Best.Launch > down.Best.Launch && up.Best.Spin < down.Best.Spin && up.Best.Carry > down.Best.Carry) {
		t.Errorf("down %+v, up %+v", down.Best, up.Best)
	}
	slow, fast := find(t, Player{BallSpeed: 55, Category: "driver"}, Carry), find(t, Player{BallSpeed: 78, Category: "driver"}, Carry)
	if slow.Best.DynamicLoft <= fast.Best.DynamicLoft {
		t.Errorf("slow wants %.1f deg, fast %.1f", slow.Best.DynamicLoft, fast.Best.DynamicLoft)
	}
	if w := find(t, Player{BallSpeed: 64, Category: "driver"}, Carry); math.Abs(w.Best.DynamicLoft-14.9) > 3 {
		t.Errorf("the loft for carry at 45 m/s is %.1f deg", w.Best.DynamicLoft)
	}
}

// A drive that spins too much: it loses, loft is not the cause, and the rates
// agree with finite changes.
func TestPresentAndSensitivity(t *testing.T) {
	w := find(t, Player{BallSpeed: 70, Attack: -1, Category: "driver", Launch: 13, Spin: 4800}, Carry)
	if w.Present == nil || w.Sensitivity == nil {
		t.Fatal("no present launch")
	}
	if w.Present.Loss < 8 || w.In(*w.Present) || w.Present.SpinShare < 1.4 || w.SpinCost < 8 {
		t.Errorf("too much spin: %+v, cost %g", *w.Present, w.SpinCost)
	}
	s := w.Sensitivity
	if s.LaunchPerDeg <= 0 || s.SpinPerDeg <= 0 || s.BallSpeedPerDeg >= 0 {
		t.Errorf("loft moves launch %g, spin %g, ball speed %g", s.LaunchPerDeg, s.SpinPerDeg, s.BallSpeedPerDeg)
	}
	var none, one Change
	for _, c := range s.Changes {
		if c.Loft == 0 {
			none = c
		}
		if c.Loft == 1 {
			one = c
		}
		if c.Gain > s.Advice.Gain+1e-9 {
			t.Errorf("%+g deg gains %g, the advice %g", c.Loft, c.Gain, s.Advice.Gain)
		}
	}
	if math.Abs(none.Carry-w.Present.Carry) > 1e-6 || none.Gain > 1e-6 {
		t.Errorf("no change changes: %+v", none)
	}
	if d := one.Carry - none.Carry; math.Abs(d-s.CarryPerDeg) > 0.6 {
		t.Errorf("a degree changes carry by %g, the rate is %g", d, s.CarryPerDeg)
	}
	// Loft too weak for a soft landing: adding loft is the advice for a green.
	w = find(t, Player{BallSpeed: 52, Attack: -3, Category: "iron", Launch: 12, Spin: 4500}, Green)
	if w.Sensitivity.Advice.Loft <= 0 || w.Sensitivity.LossPerDeg >= 0 {
		t.Errorf("advice for a flat iron: %+v", w.Sensitivity.Advice)
	}
}

func TestSurface(t *testing.T) {
	w := find(t, Player{BallSpeed: 62, Attack: 0, Category: "driver"}, Carry)
	f := w.Surface
	if len(f.Points) != len(f.Launches)*len(f.Spins) {
		t.Fatal(len(f.Points))
	}
	inside := 0
	for i, p := range f.Points {
		if p.Launch != f.Launches[i%len(f.Launches)] || p.Spin != f.Spins[i/len(f.Launches)] {
			t.Fatalf("point %d is %+v", i, p)
		}
		if w.In(p) {
			inside++
		}
		if p.SpinShare >= LeastShare && p.Loss < f.Ceiling.Loss-1e-9 {
			t.Fatalf("%+v is above the ceiling %+v", p, f.Ceiling)
		}
	}
	if inside < 20 || inside > len(f.Points)/2 {
		t.Errorf("%d of %d points are in the window", inside, len(f.Points))
	}
}

func TestBadInput(t *testing.T) {
	good := Player{BallSpeed: 66, Category: "driver"}
	var input *flight.InputError
	for name, change := range map[string]func(*Player){
		"NaN":      func(p *Player) { p.BallSpeed = math.NaN() },
		"slow":     func(p *Player) { p.BallSpeed = -1 },
		"attack":   func(p *Player) { p.Attack = 40 },
		"present":  func(p *Player) { p.Launch, p.Spin = 12, -5 },
		"no carry": func(p *Player) { p.WantedCarry = math.Inf(1) },
	} {
		p := good
		change(&p)
		if _, err := Find(p, Carry, flight.Standard()); !errors.As(err, &input) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Find(good, "height", flight.Standard()); err == nil {
		t.Error("an unknown goal is taken")
	}
	if _, err := Find(Player{BallSpeed: 66, Category: "spoon"}, Carry, flight.Standard()); err == nil {
		t.Error("an unknown category is taken")
	}
	if _, err := Find(Player{BallSpeed: 40, Category: "iron", WantedCarry: 200}, Green, flight.Standard()); !errors.Is(err, ErrOutOfReach) {
		t.Errorf("out of reach: %v", err)
	}
	// A ball launched below what a centred strike gives has no sensitivity.
	if w := find(t, Player{BallSpeed: 66, Attack: 5, Category: "driver", Launch: 2, Spin: 2500}, Carry); w.Sensitivity != nil {
		t.Errorf("a topped ball: %+v", w.Sensitivity)
	}
}
