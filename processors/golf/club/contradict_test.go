package club

import (
	"strings"
	"testing"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
)

// Even lofts, and a gap of 3.4 yd beside one of 19.6 yd: the club between them is
// in question, not the bag.
func TestCarriesThatContradictLoftsAreGaugedFirst(t *testing.T) {
	iron := func(name string, loft, yards, sd float64) Position {
		return Position{Club: name, Category: glossary.Iron, Loft: loft, Carry: Sample{N: 12, Mean: yards * unit.Yard, SD: sd * unit.Yard}}
	}
	bag := []Position{iron("5i", 26, 180, 3), iron("6i", 30, 176.6, 3), iron("7i", 34, 157, 3), iron("8i", 38, 145.5, 3)}
	g, err := NewGapping(bag, DefaultGapOptions())
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range []int{0, 1} {
		if !strings.HasPrefix(g.Gaps[i].Advice, "first gauge the loft of 6i and hit it again: it carries farther") {
			t.Errorf("%s–%s: %q", g.Gaps[i].Longer, g.Gaps[i].Shorter, g.Gaps[i].Advice)
		}
	}
	if strings.Contains(g.Gaps[2].Advice, "gauge") {
		t.Errorf("7i–8i: %q", g.Gaps[2].Advice)
	}
	// The same carries with lofts that say so, or hit too few times, contradict nothing.
	bag[1].Loft = 27
	calm, _ := NewGapping(bag, DefaultGapOptions())
	bag[1].Loft, bag[1].Carry.SD, bag[1].Carry.N = 30, 20*unit.Yard, 4
	few, _ := NewGapping(bag, DefaultGapOptions())
	for _, g := range []Gapping{calm, few} {
		for _, n := range g.Notes {
			if strings.Contains(n, "contradict") {
				t.Errorf("said without need: %s", n)
			}
		}
	}
}
