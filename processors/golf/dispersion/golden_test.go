package dispersion

import (
	"encoding/csv"
	"encoding/json"
	"fairlead/ingest/contract/glossary"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"
)

const goldenDir = "../../../testdata/dispersion/"

// golden reads the values that golden.R made.
func golden(t *testing.T) map[string][]float64 {
	t.Helper()
	text, err := os.ReadFile(goldenDir + "golden.json")
	if err != nil {
		t.Fatalf("%v: run Rscript golden.R in testdata/dispersion", err)
	}
	var out map[string][]float64
	if err := json.Unmarshal(text, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// driverShots reads the trial that golden.R described.
func driverShots(t *testing.T) []Shot {
	t.Helper()
	f, err := os.Open(goldenDir + "driver.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []Shot
	for _, r := range rows[1:] {
		carry, err1 := strconv.ParseFloat(r[0], 64)
		offline, err2 := strconv.ParseFloat(r[1], 64)
		if err1 != nil || err2 != nil {
			t.Fatalf("row %v", r)
		}
		out = append(out, Shot{carry, offline})
	}
	return out
}

func same(t *testing.T, what string, got, want []float64, tolerance float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %v, want %v", what, got, want)
	}
	for i := range got {
		if !(math.Abs(got[i]-want[i]) <= tolerance*math.Max(1, math.Abs(want[i]))) {
			t.Errorf("%s[%d] = %.12g, want %.12g", what, i, got[i], want[i])
		}
	}
}

func TestGoldenSummary(t *testing.T) {
	g := golden(t)
	shots := driverShots(t)
	s, err := Summarise(glossary.Driver, shots, Aim{})
	if err != nil {
		t.Fatal(err)
	}
	const tight = 1e-8
	same(t, "mean", s.Metres.Mean[:], g["mean"], tight)
	same(t, "scatter", s.Metres.A[:], g["scatter"], tight)
	same(t, "mean carry", []float64{s.Carry.Mean.Low, s.Carry.Mean.High}, g["mean_carry_ci"], tight)
	same(t, "sd carry", []float64{s.Carry.SD.Low, s.Carry.SD.High}, g["sd_carry_ci"], tight)
	same(t, "direction sd", all(s.DirectionSDDeg), g["direction_sd"], tight)
	same(t, "carry sd pct", all(s.CarrySDPct), g["carry_sd_pct"], tight)
	same(t, "spread", []float64{s.SpreadLn.Value, s.SpreadVar, s.SpreadLn.Low, s.SpreadLn.High}, g["spread_ln"], tight)
	same(t, "axis spread", []float64{s.Carry.SpreadLn.Value, s.Carry.SpreadVar}, g["axis_spread_ln"], tight)
	e := s.NextShot
	same(t, "ellipse", []float64{e.C, e.Major, e.Minor, e.TiltDeg, e.Area}, g["ellipse"], tight)
	same(t, "mean ellipse", []float64{s.MeanArea.C}, g["mean_ellipse_c"], tight)
	same(t, "left beyond 15", all(s.Misses[0].Odds), g["left_15"], 1e-6)
	same(t, "left beyond 15, seen", all(s.Misses[0].Seen), g["left_15_seen"], tight)
}

func all(s Stat) []float64 { return []float64{s.Value, s.Low, s.High} }

func TestGoldenFormulas(t *testing.T) {
	g := golden(t)
	for _, n := range []int{5, 10, 20, 30} {
		e, err := Scatter{N: n, A: [3]float64{2, 0.5, 1}}.NextShotEllipse(0.95)
		if err != nil {
			t.Fatal(err)
		}
		same(t, "c", []float64{e.C}, g["next_shot_c_"+strconv.Itoa(n)], 1e-9)
	}
	for name, sd := range map[string][2]float64{"radius_1_half": {1, 0.5}, "radius_circle": {1, 1}, "radius_3_01": {0.1, 3}} {
		var got []float64
		for _, p := range []float64{0.5, 0.95} {
			r, err := EllipticalRadius(sd[0], sd[1], p)
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, r)
		}
		same(t, name, got, g[name], 1e-8)
	}
	same(t, "c4", []float64{C4(9), C4(19)}, g["c4_9_19"], 1e-12)
	a, b := Scatter{N: 10, A: [3]float64{360, 60, 90}}, Scatter{N: 10, A: [3]float64{180, 20, 80}}
	c, err := Compare(a, b)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "compare", []float64{c.F, c.P, c.Delta, c.Variance}, g["compare"], 1e-9)
	p, err := AreaPrior{4, [3]float64{20, 0, 10}}.ProbTighter(a, b)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "tighter", []float64{p}, g["tighter"], 1e-9)
}

// The fast search finds the subset that trying all 15,504 finds.
func TestGoldenRobustSubset(t *testing.T) {
	g := golden(t)
	points := Metres(driverShots(t)[:20])
	whole, err := NewScatter(points)
	if err != nil {
		t.Fatal(err)
	}
	got := smallest(points, whole, 15)
	want := make([]int, 0, 15)
	for _, i := range g["mcd_subset"] {
		want = append(want, int(i)-1)
	}
	if !slices.Equal(got, want) {
		t.Errorf("subset %v, want %v", got, want)
	}
	core, _ := NewScatter(pick(points, got))
	s := core.Cov()
	same(t, "det", []float64{s[0]*s[2] - s[1]*s[1]}, g["mcd_det"], 1e-9)
}
