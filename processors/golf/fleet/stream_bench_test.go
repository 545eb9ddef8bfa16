package fleet_test

import (
	"testing"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/fleet/planted"
)

// BenchmarkStream reads trials into the rows of a fit.
func BenchmarkStream(b *testing.B) {
	o := small
	o.Players, o.Attributes, o.Traits = 2000, fleet.AllAttributes(), fleet.StandardTraits
	trials, _ := planted.Fleet(o)
	q := fleet.Question{Outcome: "direction"}
	a, err := fleet.Ask(b.Context(), trials, q)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		s, err := fleet.NewStream(q, a.Design, a.Noise)
		if err != nil {
			b.Fatal(err)
		}
		for i := range trials {
			if err := s.Add(&trials[i]); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(trials)), "ns/trial")
}
