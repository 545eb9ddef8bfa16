package club

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"
)

func contains(s, sub string) bool { return strings.Contains(s, sub) }

// readBag reads the invented bag; only the test knows the file's columns.
func readBag(t *testing.T) []Position {
	t.Helper()
	f, err := os.Open("../../../testdata/club/bag.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	num := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	var out []Position
	values := map[string][3][]float64{}
	for _, r := range rows[1:] {
		cat, ok := CategoryOf(r[0])
		if !ok {
			t.Fatalf("no category for %q", r[0])
		}
		p := Position{Club: r[0], Swing: r[1], Category: cat, Loft: num(r[2])}
		v, seen := values[p.Name()]
		if !seen {
			out = append(out, p)
		}
		for i := range v {
			v[i] = append(v[i], num(r[3+i]))
		}
		values[p.Name()] = v
	}
	for i := range out {
		v := values[out[i].Name()]
		for k, s := range []*Sample{&out[i].Carry, &out[i].Landing, &out[i].Spin} {
			if *s, err = NewSample("carry", v[k]); err != nil {
				t.Fatal(err)
			}
		}
	}
	return out
}

func TestGappingFindsWhatWasPlanted(t *testing.T) {
	g, err := NewGapping(readBag(t), DefaultGapOptions())
	if err != nil {
		t.Fatal(err)
	}
	verdicts := map[string]Verdict{}
	for _, gap := range g.Gaps {
		verdicts[gap.Longer+"/"+gap.Shorter] = gap.Verdict
		near(t, "probabilities", gap.ProbFine+gap.ProbHole+gap.ProbOverlap, map[bool]float64{true: 1, false: 0}[gap.Known], 1e-9)
	}
	for pair, want := range map[string]Verdict{"5w/4h": Hole, "7i/8i": Overlap, "sw/lw": NotYet} {
		if verdicts[pair] != want {
			t.Errorf("%s: %q, want %q (all: %v)", pair, verdicts[pair], want, verdicts)
		}
	}
	if g.LongestHolding != "6i" {
		t.Errorf("longest iron that holds a green: %q, want 6i; %+v", g.LongestHolding, g.Greens)
	}
	if g.Clubs != 14 {
		t.Errorf("%d clubs with the putter, want 14", g.Clubs)
	}
	if g.LossPerDegree < 2 || g.LossPerDegree > 3.2 {
		t.Errorf("a degree of loft costs %.2f m in this bag", g.LossPerDegree)
	}
	var short []string
	for _, s := range g.Short {
		short = append(short, s.Longer+"/"+s.Shorter+": "+string(s.Verdict))
	}
	if !contains(strings.Join(short, "; "), "sw three-quarter/sw half: hole") {
		t.Errorf("short game %v: want a hole between the sand wedge's two partial swings", short)
	}
	if len(g.Wedges) != 6 {
		t.Errorf("%d wedge swings, want 6", len(g.Wedges))
	}
}

func TestTooFewShotsSayNotYet(t *testing.T) {
	for n := 0; n <= 3; n++ {
		s, err := NewSample("carry", []float64{150, 151, 152}[:n])
		if err != nil {
			t.Fatal(err)
		}
		g, err := NewGapping([]Position{{Club: "7i", Category: glossary.Iron, Carry: s, Landing: s.scaled(0.3)},
			{Club: "8i", Category: glossary.Iron, Carry: Sample{10, 140, 4}}}, DefaultGapOptions())
		if err != nil {
			t.Fatal(err)
		}
		noNaN(t, reflect.ValueOf(g), "gapping")
		if n == 0 {
			if len(g.Unhit) != 1 || len(g.Gaps) != 0 {
				t.Errorf("n 0: %+v", g)
			}
			continue
		}
		if gap := g.Gaps[0]; gap.Verdict != NotYet || gap.More != 4-n || gap.Known {
			t.Errorf("n %d: %+v, want not yet with %d more", n, gap, 4-n)
		}
		if h := g.Greens[0]; h.Verdict != NotYet || h.More != 4-n {
			t.Errorf("n %d: %+v, want not yet with %d more", n, h, 4-n)
		}
	}
}

func (s Sample) scaled(f float64) Sample { return Sample{s.N, s.Mean * f, s.SD * f} }

// noNaN walks a result: nothing in it may be NaN or infinite.
func noNaN(t *testing.T, v reflect.Value, at string) {
	t.Helper()
	switch v.Kind() {
	case reflect.Float64:
		if math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0) {
			t.Errorf("%s is %v", at, v.Float())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			noNaN(t, v.Field(i), at+"."+v.Type().Field(i).Name)
		}
	case reflect.Slice:
		for i := range v.Len() {
			noNaN(t, v.Index(i), fmt.Sprintf("%s[%d]", at, i))
		}
	}
}

func TestEqualShotsAreNotCertainty(t *testing.T) {
	s, _ := NewSample("carry", []float64{150, 150, 150, 150})
	g, err := NewGapping([]Position{{Club: "7i", Category: glossary.Iron, Carry: s, Landing: Sample{4, 43, 0}},
		{Club: "8i", Category: glossary.Iron, Carry: s}}, DefaultGapOptions())
	if err != nil {
		t.Fatal(err)
	}
	noNaN(t, reflect.ValueOf(g), "gapping")
	if gap := g.Gaps[0]; gap.Verdict != Overlap || gap.High <= gap.Low || gap.Passed != 0.5 {
		t.Errorf("two clubs that always carry alike: %+v", gap)
	}
}

// The interval of a gap covers the true one, and findings stated at .9 are
// seldom wrong where the truth is beyond the threshold.
func TestGapIntervalsCover(t *testing.T) {
	sessions := 4000
	if proof.Wanted() {
		sessions = 200000
	}
	rng := rand.New(rand.NewPCG(3, 14))
	o := DefaultGapOptions()
	const truth = 12.0
	covered, wrong := 0, 0
	for range sessions {
		gap := newGap(simulated(rng, "a", 140+truth, 5, 8), simulated(rng, "b", 140, 3, 6), o.MinGap, o.MaxGap, o)
		if gap.Low <= truth && truth <= gap.High {
			covered++
		}
		if gap.Verdict == Hole || gap.Verdict == Overlap {
			wrong++
		}
	}
	share := float64(covered) / float64(sessions)
	if tol := 3*math.Sqrt(0.95*0.05/float64(sessions)) + 0.005; math.Abs(share-0.95) > tol {
		t.Errorf("95 %% intervals cover %.4f of the time, tolerance %.4f", share, tol)
	}
	if share := float64(wrong) / float64(sessions); share > 0.1 {
		t.Errorf("a gap that is fine is called a hole or overlap in %.3f of sessions", share)
	}
}

func simulated(rng *rand.Rand, name string, mean, sd float64, n int) Position {
	var v []float64
	for range n {
		v = append(v, mean+sd*rng.NormFloat64())
	}
	s, _ := NewSample("carry", v)
	return Position{Club: name, Category: glossary.Iron, Carry: s}
}

func TestGappingRefuses(t *testing.T) {
	ok := Sample{5, 140, 4}
	for name, ps := range map[string][]Position{
		"no name":      {{Carry: ok}},
		"twice":        {{Club: "7i", Carry: ok}, {Club: "7I", Swing: "full", Carry: ok}},
		"NaN":          {{Club: "7i", Carry: Sample{5, math.NaN(), 1}}},
		"negative sd":  {{Club: "7i", Carry: Sample{5, 140, -1}}},
		"yards as km":  {{Club: "7i", Carry: Sample{5, 14000, 1}}},
		"negative n":   {{Club: "7i", Carry: Sample{N: -1}}},
		"landing at 0": {{Club: "7i", Carry: ok, Landing: Sample{5, 120, 1}}},
	} {
		var in *InputError
		if _, err := NewGapping(ps, DefaultGapOptions()); !errors.As(err, &in) {
			t.Errorf("%s: %v, want an InputError", name, err)
		}
	}
	if _, err := NewGapping(nil, GapOptions{}); err == nil {
		t.Error("options without values are taken")
	}
	if _, err := NewSample("carry", []float64{1, math.Inf(1)}); err == nil {
		t.Error("an infinite carry is taken")
	}
}

func TestAdviceUsesTheBagsOwnLofts(t *testing.T) {
	// 7i and 8i stand 18 m apart: 7.5 m over the middle of 5 to 16, 2.3° at 3.3 m a degree.
	bag := []Position{
		{Club: "6i", Category: glossary.Iron, Loft: 29, Carry: Sample{20, 160, 2}},
		{Club: "7i", Category: glossary.Iron, Loft: 33, Carry: Sample{20, 150, 2}},
		{Club: "8i", Category: glossary.Iron, Loft: 37, Carry: Sample{20, 132, 2}},
		{Club: "9i", Category: glossary.Iron, Loft: 41, Carry: Sample{20, 122, 2}},
	}
	o := DefaultGapOptions()
	o.MinGap, o.MaxGap = 5, 16
	g, err := NewGapping(bag, o)
	if err != nil {
		t.Fatal(err)
	}
	// Least squares through (29,160) (33,150) (37,132) (41,122).
	near(t, "m a degree", g.LossPerDegree, 3.3, 1e-9)
	if gap := g.Gaps[1]; gap.Verdict != Hole || !contains(gap.Advice, "too wide") {
		t.Errorf("%+v", gap)
	}
	o.MinGap, o.MaxGap = 10.5, 16
	if g, err = NewGapping(bag, o); err != nil {
		t.Fatal(err)
	}
	// 18 m is 4.75 m over the middle of 10.5 to 16: 1.4° at 3.3 m a degree.
	if gap := g.Gaps[1]; gap.Verdict != Hole || !contains(gap.Advice, "weakening 7i or strengthening 8i by 1.4°") {
		t.Errorf("%+v", gap)
	}
	if gap := g.Gaps[0]; gap.Verdict == Hole || gap.Advice != "" {
		t.Errorf("%+v", gap)
	}
}

func TestTooManyClubs(t *testing.T) {
	var ps []Position
	for i := range 15 {
		ps = append(ps, Position{Club: fmt.Sprintf("%d", 40+i), Category: glossary.Wedge, Carry: Sample{10, 60 + 10*float64(i), 3}})
	}
	g, err := NewGapping(ps, DefaultGapOptions())
	if err != nil {
		t.Fatal(err)
	}
	if g.Clubs != 16 || len(g.Notes) == 0 || !contains(g.Notes[0], "2 too many") {
		t.Errorf("16 clubs: %d, %q", g.Clubs, g.Notes)
	}
}

func TestCategoryOf(t *testing.T) {
	for name, want := range map[string]glossary.Category{"Driver": glossary.Driver, "3w": glossary.Wood, "5-wood": glossary.Wood,
		"4h": glossary.Hybrid, "7 iron": glossary.Iron, "PW": glossary.Wedge, "56": glossary.Wedge, "54°": glossary.Wedge,
		"lob wedge": glossary.Wedge, "putter": glossary.Putter} {
		if got, ok := CategoryOf(name); !ok || got != want {
			t.Errorf("%q is %q (%v), want %q", name, got, ok, want)
		}
	}
	if got, ok := CategoryOf("the old one"); ok {
		t.Errorf("'the old one' is a %s", got)
	}
	if _, err := ParseCategory("spoon"); err == nil {
		t.Error("'spoon' is a category")
	}
}
