package world

import (
	"context"
	"os"
	"testing"
	"time"

	"fairlead/processors/golf/fleet"
)

// BenchmarkSharedFit fits a fleet of forty studios and a hundred builds that all
// players share, with their effects and without: the ratio is what they cost.
func BenchmarkSharedFit(b *testing.B) {
	w := World{Players: 2000, Studios: 40, Pool: 100, OwnBuild: 0.05, StudioSlope: 0.03}
	if os.Getenv("FAIRLEAD_PROVE") == "1" {
		w.Players = 50_000
	}
	trials := w.Make(1)
	var took [2]time.Duration
	for b.Loop() {
		for n, without := range []bool{true, false} {
			start := time.Now()
			q := fleet.Question{Outcome: "direction", Category: "driver", Attributes: Attributes, Traits: Traits, NoShared: without}
			if _, err := fleet.Ask(context.Background(), trials, q); err != nil {
				b.Fatal(err)
			}
			took[n] += time.Since(start)
		}
	}
	b.ReportMetric(took[1].Seconds()/took[0].Seconds(), "times-without")
	b.ReportMetric(float64(len(trials))*float64(b.N)/took[1].Seconds(), "trials/s")
}
