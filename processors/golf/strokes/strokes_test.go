package strokes

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fairlead/ingest/contract/glossary"
)

// The sum over the scatter is what shots of it take on average, one by one.
func TestExpectationIsTheAverageOfShots(t *testing.T) {
	h := Usual()
	rng := rand.New(rand.NewPCG(4, 4))
	for _, at := range []struct {
		c glossary.Category
		s Scatter
	}{{glossary.Driver, Scatter{210, 0.05, 4}}, {glossary.Driver, Scatter{240, 0.03, 2}}, {glossary.Iron, Scatter{140, 0.06, 3}},
		{glossary.Wedge, Scatter{70, 0.05, 2}}, {glossary.Wood, Scatter{190, 0.08, 6}}} {
		want, n := 0.0, 400000
		for range n {
			carry := at.s.Carry * (1 + at.s.CarryShare*rng.NormFloat64())
			beside := carry * math.Tan(at.s.Direction*rng.NormFloat64()*math.Pi/180)
			want += h.Shot(at.c, at.s.Carry, carry, beside) / float64(n)
		}
		got, err := h.Expect(at.c, at.s)
		if err != nil || math.Abs(got-want) > 0.006 {
			t.Errorf("%s %+v: %.4f strokes, %v; shots took %.4f", at.c, at.s, got, err, want)
		}
	}
}

func TestLongerAndTighterIsFewer(t *testing.T) {
	h := Usual()
	last := math.Inf(1)
	for carry := 150.0; carry <= 270; carry += 5 {
		e, err := h.Expect(glossary.Driver, Scatter{carry, 0.04, 2})
		if err != nil || e >= last {
			t.Errorf("%g m: %.4f, before %.4f, %v", carry, e, last, err)
		}
		last = e
	}
	for _, c := range []glossary.Category{glossary.Driver, glossary.Iron, glossary.Wedge} {
		last = 0
		for wide := 1.0; wide <= 8; wide += 0.5 {
			e, err := h.Expect(c, Scatter{120, 0.05, wide})
			if err != nil || e <= last {
				t.Errorf("%s %g° wide: %.4f, before %.4f, %v", c, wide, e, last, err)
			}
			last = e
		}
	}
	if _, err := h.Expect(glossary.Driver, Scatter{-3, 0.04, 2}); err == nil {
		t.Error("a carry below nothing is valued")
	}
}

func TestTheTableSaysWhatItsSourceSays(t *testing.T) {
	h := Usual()
	for _, at := range []struct {
		t           Table
		yards, want float64
	}{{h.FromFairway, 160, 2.98}, {h.FromRough, 160, 3.23}, {h.FromRecovery, 160, 3.81}, {h.FromFairway, 150, 2.945}, {h.FromRough, 2, 2.34},
		{h.FromFairway, 410, 4.15}, {h.Putts, 8.0 / 3, 1.5}, {h.Putts, 11, 2.004}} {
		if got := at.t.At(at.yards * 0.9144); math.Abs(got-at.want) > 1e-6 {
			t.Errorf("at %g yd: %.4f, want %.4f", at.yards, got, at.want)
		}
	}
}

func TestAHoleIsRead(t *testing.T) {
	h, err := Read(strings.NewReader(`{"of": "the ninth", "length_m": 320, "fairway_m": 22}`))
	if err != nil || h.Length != 320 || h.Fairway != 22 || h.Green != 13 || h.Of != "the ninth" || len(h.Putts) == 0 {
		t.Errorf("%+v, %v", h, err)
	}
	for _, bad := range []string{`{"length_m": 5}`, `{"lenght_m": 300}`, `{"putts": []}`, `{"rough_m": 3}`, `[]`,
		`{"putts": [{"m": 2, "strokes": 2}, {"m": 1, "strokes": 1}]}`} {
		if _, err := Read(strings.NewReader(bad)); err == nil || !strings.HasPrefix(err.Error(), "hole: ") {
			t.Errorf("%s: %v", bad, err)
		}
	}
}

func BenchmarkExpect(b *testing.B) {
	h := Usual()
	for b.Loop() {
		if _, err := h.Expect(glossary.Driver, Scatter{210, 0.05, 4}); err != nil {
			b.Fatal(err)
		}
	}
}
