package evidence

import (
	"encoding/csv"
	"encoding/json"
	"fairlead/ingest/contract/glossary"
	"math"
	"os"
	"strconv"
	"testing"
)

const goldenDir = "../../../testdata/evidence/"

func golden(t *testing.T) map[string][]float64 {
	t.Helper()
	text, err := os.ReadFile(goldenDir + "golden.json")
	if err != nil {
		t.Fatalf("%v: run Rscript golden.R in testdata/evidence", err)
	}
	var out map[string][]float64
	if err := json.Unmarshal(text, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// read reads a file whose columns are measures and position.
func read(t *testing.T, name string) Trial {
	t.Helper()
	f, err := os.Open(goldenDir + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := Trial{Name: name}
	for _, r := range rows[1:] {
		s := Shot{Values: map[Measure]float64{}}
		for i, column := range rows[0] {
			v, err := strconv.ParseFloat(r[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			if column == "position" {
				s.Position = int(v)
				continue
			}
			s.Values[Measure(column)] = v
		}
		out.Shots = append(out.Shots, s)
	}
	return out
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*math.Max(1, math.Abs(want))) {
		t.Errorf("%s = %.9g, want %.9g", what, got, want)
	}
}

func TestGoldenTwoTrials(t *testing.T) {
	g := golden(t)
	r, err := Compare(glossary.Driver, []Trial{read(t, "ten_a.csv")}, []Trial{read(t, "ten_b.csv")},
		Options{Wander: map[glossary.Name]float64{glossary.Carry: -1}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "f", r.Spread.F, 1.4343, 1e-3)
	near(t, "p", r.Spread.P, 0.4788, 1e-3)
	near(t, "delta spread", r.Spread.Delta, -0.3607, 1e-3)
	near(t, "delta var", r.Spread.Variance, 0.26627, 1e-3)
	carry, _ := r.Outcome(glossary.Carry)
	near(t, "e-value", carry.EValue, g["t"][1], 1e-9)
	near(t, "carry estimate", carry.Estimate, g["carry"][0], 1e-9)
	near(t, "carry change", carry.Change, g["carry"][1], 1e-4)
	near(t, "carry better", carry.ProbBetter, g["carry"][2], 1e-5)
	near(t, "carry same", carry.ProbSame, g["carry"][3], 1e-5)
	direction, _ := r.Outcome(glossary.Direction)
	near(t, "direction estimate", direction.Estimate, g["direction"][0], 1e-9)
	near(t, "direction change", direction.Change, g["direction"][1], 1e-5)
	near(t, "direction better", direction.ProbBetter, g["direction"][2], 1e-5)
	near(t, "direction e-value", direction.EValue, g["direction"][3], 1e-4)
}

func TestGoldenDrift(t *testing.T) {
	g := golden(t)
	shots, order, err := arrange(split(read(t, "gamer.csv"), 14), []Trial{read(t, "candidate.csv")}, 5, 2)
	if err != nil || !order.Known || len(order.Left) != 3 {
		t.Fatal(err, order)
	}
	for name, wander := range map[string]float64{"drift": 0, "runs": 0.25} {
		e, ok := meanEstimate(meanValue(glossary.Carry), shots, true, wander)
		if !ok {
			t.Fatal("no estimate")
		}
		for i, v := range []float64{e.change, e.se, e.df, e.info} {
			near(t, name, v, g[name][i], 1e-9)
		}
	}
}

// split makes two trials of one, at a place.
func split(t Trial, at int) []Trial {
	return []Trial{{Name: t.Name + " 1", Shots: t.Shots[:at]}, {Name: t.Name + " 2", Shots: t.Shots[at:]}}
}

// For many shots the exact evidence on tightness becomes the known-variance one.
func TestEValueForManyShots(t *testing.T) {
	for _, y := range []float64{-0.3, 0.02, 0.2} {
		e := estimate{tight: true, kappa: 0.5, change: y, d1: 4000, d2: 4000}
		e.se = math.Sqrt(0.5 * trigamma(2000))
		got, want := math.Log(e.eValue(0.3)), math.Log(normalEValue(y, e.se*e.se, 0.3))
		near(t, "ln e", got, want, 0.01)
	}
}

// TestTwoPromisesStandApart: a prior changes the odds and leaves the e-value.
func TestTwoPromisesStandApart(t *testing.T) {
	a, b := read(t, "ten_a.csv"), read(t, "ten_b.csv")
	plain, err := Compare(glossary.Driver, []Trial{a}, []Trial{b}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	with, err := Compare(glossary.Driver, []Trial{a}, []Trial{b}, Options{Priors: map[glossary.Name]Prior{
		glossary.Carry: {Mean: -9, SD: 2, Source: "fleet"}, glossary.Direction: {Mean: 0.5, SD: 0.1, Source: "fleet"},
		glossary.Area: {Mean: 1, SD: 0.1, Source: "fleet"}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []glossary.Name{glossary.Carry, glossary.Direction, glossary.Area} {
		p, _ := plain.Outcome(n)
		w, _ := with.Outcome(n)
		if p.EValue != w.EValue {
			t.Errorf("%s: the prior moved the e-value from %g to %g", n, p.EValue, w.EValue)
		}
		if w.ProbBetter > p.ProbBetter-0.2 {
			t.Errorf("%s: the prior did not move the odds: %g, %g", n, p.ProbBetter, w.ProbBetter)
		}
	}
}
