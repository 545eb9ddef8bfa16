package club

import (
	"errors"
	"math"
	"testing"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

func lengths(set []Rung) map[string]float64 {
	out := map[string]float64{}
	for _, r := range set {
		out[r.Name] = r.Length
	}
	return out
}

func TestStandardLengths(t *testing.T) {
	set, err := Ladder(LadderSpec{})
	if err != nil {
		t.Fatal(err)
	}
	got := lengths(set)
	for name, inches := range map[string]float64{"driver": 45, "3w": 43, "5i": 38, "6i": 37.5, "7i": 37, "9i": 36, "pw": 35.5, "lw": 35.5} {
		near(t, name, got[name]/Inch, inches, 1e-9)
	}
}

func TestLadderFollowsTheFittedClub(t *testing.T) {
	set, err := Ladder(LadderSpec{Lengths: map[string]float64{"7I": 37.25 * Inch}})
	if err != nil {
		t.Fatal(err)
	}
	got := lengths(set)
	near(t, "7i", got["7i"]/Inch, 37.25, 1e-9)
	near(t, "5i", got["5i"]/Inch, 38.25, 1e-9)
	near(t, "pw", got["pw"]/Inch, 35.75, 1e-9)
	near(t, "driver", got["driver"]/Inch, 45, 1e-9)

	set, err = Ladder(LadderSpec{Lengths: map[string]float64{"5i": 38.5 * Inch, "9i": 36 * Inch, "driver": 44.5 * Inch}, IronStep: 0.5 * Inch})
	if err != nil {
		t.Fatal(err)
	}
	got = lengths(set)
	near(t, "7i between two fixed clubs", got["7i"]/Inch, 37.25, 1e-9)
	near(t, "3i beyond them", got["3i"]/Inch, 39.5, 1e-9)
	near(t, "pw beyond them", got["pw"]/Inch, 35.5, 1e-9)
	near(t, "3w with the driver", got["3w"]/Inch, 42.5, 1e-9)

	set, err = Ladder(LadderSpec{IronStep: 0.375 * Inch})
	if err != nil {
		t.Fatal(err)
	}
	got = lengths(set)
	near(t, "5i at three-eighths", got["5i"]/Inch, 37.75, 1e-9)
	near(t, "pw at three-eighths", got["pw"]/Inch, 37-3*0.375, 1e-9)
	near(t, "lw with the pw", got["lw"], got["pw"], 1e-12)
}

func TestLadderRefuses(t *testing.T) {
	for name, s := range map[string]LadderSpec{
		"unknown club": {Lengths: map[string]float64{"11i": 0.9}},
		"inches as m":  {Lengths: map[string]float64{"7i": 37}},
		"NaN":          {Lengths: map[string]float64{"7i": math.NaN()}},
		"step":         {IronStep: 0.5},
	} {
		var in *InputError
		if _, err := Ladder(s); !errors.As(err, &in) {
			t.Errorf("%s: %v, want an InputError", name, err)
		}
	}
}

func TestMatchedHeads(t *testing.T) {
	set, err := Ladder(LadderSpec{})
	if err != nil {
		t.Fatal(err)
	}
	irons := set[7:15] // 3i to pw
	for _, by := range []MatchBy{BySwingWeight, ByInertia} {
		rows, err := MatchHeads(irons, iron, by)
		if err != nil {
			t.Fatal(err)
		}
		want, _ := iron.Heft()
		for i, r := range rows {
			if by == BySwingWeight {
				near(t, r.Name+" swing weight", float64(r.Heft.SwingWeight), float64(want.SwingWeight), 1e-6)
			} else {
				near(t, r.Name+" inertia", r.Heft.Inertia, want.Inertia, 1e-9)
			}
			if i > 0 && r.HeadMass <= rows[i-1].HeadMass {
				t.Errorf("%s by %s: a shorter club needs a heavier head", r.Name, by)
			}
			if i > 0 && by == BySwingWeight {
				// About 7 g a half inch is what iron heads step by.
				near(t, r.Name+" head step g", (r.HeadMass-rows[i-1].HeadMass)/gram, 7, 1.5)
			}
		}
	}
	if _, err := MatchHeads(irons, iron, "feel"); err == nil {
		t.Error("matching by 'feel' is taken")
	}
}

func TestStepsOfAMeasuredSet(t *testing.T) {
	set, _ := Ladder(LadderSpec{})
	steps, err := CheckSteps(set, map[string]float64{"5i": 38 * Inch, "7i": 37 * Inch, "8i": 36.25 * Inch, "9i": 36 * Inch}, Inch/16)
	if err != nil {
		t.Fatal(err)
	}
	if len(steps) != 3 || !steps[0].Within || steps[1].Within || steps[2].Within {
		t.Fatalf("steps %+v: want 5i–7i within, 7i–8i and 8i–9i out", steps)
	}
	near(t, "8i off", steps[1].Off/Inch, 0.25, 1e-9)
	if _, err := CheckSteps(set, map[string]float64{"x": 1}, 0.001); err == nil {
		t.Error("an unknown club is taken")
	}
}

func TestLieAndLoftAtTheTarget(t *testing.T) {
	e, err := Fault{Loft: 36, LieError: 1, Carry: 130}.Effect()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "face azimuth of 1° at 36°", e.FaceAzimuth, -0.73, 0.005)
	near(t, "start", e.Start, 0.72*e.FaceAzimuth, 1e-9)
	near(t, "offline", e.Offline, -1.187, 0.005)
	near(t, "axis tilt", e.AxisTilt, -1, 1e-9)
	flat, err := Fault{Loft: 10.5, LieError: 1, Carry: 220}.Effect()
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(flat.FaceAzimuth) > 0.2 {
		t.Errorf("a degree of lie on a driver turns the face by %v°", flat.FaceAzimuth)
	}
	weak, err := Fault{Loft: 33, LoftError: 2, Carry: 140}.Effect()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "launch of 2° weak", weak.Launch, 1.44, 1e-9)
	if weak.FaceAzimuth != 0 || weak.LoftLost > 1e-9 {
		t.Errorf("loft alone turns the face: %+v", weak)
	}
	proof.Check(t, func(t *rapid.T) {
		f := Fault{Loft: rapid.Float64Range(5, 64).Draw(t, "loft"), LieError: rapid.Float64Range(-5, 5).Draw(t, "lie"), Carry: 100}
		right, err := f.Effect()
		if err != nil {
			t.Fatal(err)
		}
		f.Left = true
		left, err := f.Effect()
		if err != nil {
			t.Fatal(err)
		}
		if left.FaceAzimuth != -right.FaceAzimuth || left.Offline != -right.Offline || left.AxisTilt != -right.AxisTilt ||
			left.Launch != right.Launch {
			t.Fatalf("not mirrored: %+v and %+v", left, right)
		}
	})
	for _, bad := range []Fault{{}, {Loft: 36, LieError: 62, Carry: 100}, {Loft: math.NaN()}, {Loft: 30, Carry: -1}} {
		if _, err := bad.Effect(); err == nil {
			t.Errorf("%+v is taken", bad)
		}
	}
}

func TestCheckBuild(t *testing.T) {
	got, err := CheckBuild(map[Spec]float64{SpecLoft: 34, SpecLie: 63, SpecLength: 0.94, SpecMass: 0.43},
		map[Spec]float64{SpecLoft: 34.5, SpecLie: 63.6, SpecLength: 0.9412, SpecSwingWeight: 31}, DefaultTolerances())
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 3 {
		t.Fatalf("%d figures, want the three that were both ordered and measured", len(got))
	}
	for _, f := range got {
		if want := f.Spec != SpecLie; f.Within != want {
			t.Errorf("%+v: within should be %v", f, want)
		}
	}
	if _, err := CheckBuild(map[Spec]float64{SpecLoft: 1}, map[Spec]float64{SpecLoft: math.NaN()}, DefaultTolerances()); err == nil {
		t.Error("NaN is taken")
	}
	if _, err := CheckBuild(map[Spec]float64{"colour": 1}, nil, DefaultTolerances()); err == nil {
		t.Error("an unknown figure is taken")
	}
	if _, err := CheckBuild(map[Spec]float64{SpecLoft: 1}, map[Spec]float64{SpecLoft: 1}, nil); err == nil {
		t.Error("a missing tolerance is taken")
	}
}

// Each hazard that work on a club brings must be on the sheet of that work.
func TestCautions(t *testing.T) {
	must := map[Operation][]string{
		OpBond: {"sensitises skin", "full cure"}, OpCutShaft: {"respirator", "eye protection"}, OpTipTrim: {"cannot be undone"},
		OpGrip: {"burns"}, OpBend: {"maker's limit"}, OpHitTest: {"pain", "One person"}, OpHeadMass: {"Lead"},
	}
	for _, op := range Operations() {
		list, err := Cautions(op)
		if err != nil || len(list) == 0 {
			t.Fatalf("%s: %v, %d cautions", op, err, len(list))
		}
		var all string
		for _, c := range list {
			if c.Hazard == "" || c.Do == "" || c.Source == "" {
				t.Errorf("%s: %+v is not complete", op, c)
			}
			all += c.Hazard + " " + c.Do + " "
		}
		for _, word := range must[op] {
			if !contains(all, word) {
				t.Errorf("%s does not warn of %q", op, word)
			}
		}
	}
	if len(Operations()) != len(cautions) {
		t.Errorf("%d operations, cautions for %d", len(Operations()), len(cautions))
	}
	if _, err := Cautions("juggle"); err == nil {
		t.Error("an unknown operation has cautions")
	}
}
