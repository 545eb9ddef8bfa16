package evidence

import (
	"fairlead/ingest/contract/glossary"
	"testing"
	"time"
)

// BenchmarkCompare is what the live page pays for one comparison; the baseline
// is the estimates alone, without odds, e-values and forecasts.
func BenchmarkCompare(b *testing.B) {
	gamer, head := club(1, "gamer", 15, 0, 220, 3000, 3), club(2, "head", 15, 0, 223, 2900, 3)
	shots, order, err := arrange([]Trial{gamer}, []Trial{head}, 0, 0)
	if err != nil {
		b.Fatal(err)
	}
	const rounds = 200
	start := time.Now()
	for range rounds {
		for _, n := range glossary.Outcomes() {
			ask(n, WeakPrior(glossary.Driver, n)).taken(glossary.Driver, shots, order.Known)
		}
	}
	raw := float64(time.Since(start).Nanoseconds()) / rounds
	b.ResetTimer()
	for b.Loop() {
		if _, err := Compare(glossary.Driver, []Trial{gamer}, []Trial{head}, Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/max(raw, 1), "x_estimates")
}
