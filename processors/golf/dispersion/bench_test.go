package dispersion

import (
	"fairlead/ingest/contract/glossary"
	"math/rand/v2"
	"testing"
	"time"
)

// BenchmarkSummarise is the whole summary of a 24-shot trial, against its
// scatter alone.
func BenchmarkSummarise(b *testing.B) {
	shots := truth{220, 0, 8, 10, 0.2}.shots(rand.New(rand.NewPCG(1, 1)), 24)
	points := Metres(shots)
	const rounds = 2000
	start := time.Now()
	for range rounds {
		if _, err := NewScatter(points); err != nil {
			b.Fatal(err)
		}
	}
	raw := float64(time.Since(start).Nanoseconds()) / rounds
	b.ResetTimer()
	for b.Loop() {
		if _, err := Summarise(glossary.Driver, shots, Aim{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/max(raw, 1), "x_scatter")
}
