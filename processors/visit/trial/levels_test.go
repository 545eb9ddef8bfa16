package trial

import (
	"testing"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

func TestLevelsNeverCrossACircumstance(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		set := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Circumstance {
			one := rapid.SampledFrom([]string{"a", "b"})
			return Circumstance{Device: one.Draw(t, "device"), Firmware: one.Draw(t, "firmware"), Setting: one.Draw(t, "setting"),
				Intent: rapid.Int32Range(0, 1).Draw(t, "intent"), ClassLength: float64(rapid.IntRange(0, 1).Draw(t, "class"))}
		}), 0, 12).Draw(t, "trials")
		for i := 1; i < len(set); i++ {
			set[i].Instructions = set[i-1].Instructions + rapid.IntRange(0, 1).Draw(t, "told")
		}
		level := Levels(set)
		most := 0
		for i := range set {
			if level[i] < 1 || level[i] > most+1 {
				t.Fatalf("trial %d has level %d after %d levels", i, level[i], most)
			}
			most = max(most, level[i])
			for k := range set {
				if (level[i] == level[k]) != (set[i] == set[k]) {
					t.Fatalf("trials %d and %d: levels %d and %d", i, k, level[i], level[k])
				}
			}
		}
	})
}
