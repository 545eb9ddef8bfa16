package answers

import (
	"math"
	"testing"

	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/flight/window"
)

func TestWindowsAreNearTheComputedOnes(t *testing.T) {
	f := New(nil, Options{})
	r, err := f.want(Question{Outcome: "window", Filter: Filter{Category: "driver"}})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range [][4]float64{{61, -0.5, 12, 2600}, {61, -0.5, 9, 3300}, {66, 2, 14, 2200}, {55, -3, 11, 3000}, {70, -1, 10, 2500},
		{48, 0, 15, 2900}} {
		w, err := window.Find(window.Player{BallSpeed: x[0], Attack: x[1], Category: "driver", Launch: x[2], Spin: x[3]}, window.Carry,
			flight.Standard())
		if err != nil {
			t.Fatal(err)
		}
		d, ss, n := r.windows.distance(&launched{ball: x[0], attack: x[1], launch: x[2], launchSS: 9, spin: x[3], spinSS: 9e4}, 10)
		if want := math.Sqrt(math.Max(w.Present.Loss/w.Within, 0)); math.Abs(d-want) > 0.12 || !(ss > 0) || n != 10 {
			t.Errorf("%v: %.3f windows, computed %.3f; %v %v", x, d, want, ss, n)
		}
	}
	if d, _, n := r.windows.distance(&launched{ball: 60, attack: math.NaN(), launch: 12, spin: 2500}, 10); !math.IsNaN(d) || n != 0 {
		t.Errorf("unknown attack angle: %v %v", d, n)
	}
	if _, err := f.want(Question{Outcome: "window", Filter: Filter{Category: "iron"}}); err == nil {
		t.Error("an iron is asked about a window for carry")
	}
}
