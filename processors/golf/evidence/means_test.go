package evidence

import (
	"math"
	"testing"

	"fairlead/ingest/contract/glossary"
)

// What is shown of each club is the mean of its own shots.
func TestMeansAreThoseOfTheirOwnShots(t *testing.T) {
	trial := func(name string, carries ...float64) []Trial {
		out := Trial{Name: name}
		for i, c := range carries {
			out.Shots = append(out.Shots, Shot{Values: map[Measure]float64{CarryM: c, OfflineM: float64(i%3 - 1)}})
		}
		return []Trial{out}
	}
	r := compareOne(t, trial("gamer", 196, 204, 190, 210, 200), trial("head", 240, 232, 248, 236, 244), Options{})
	carry, ok := r.Outcome(glossary.Carry)
	if !ok || math.Abs(carry.Baseline-200) > 1e-9 || math.Abs(carry.Candidate-240) > 1e-9 {
		t.Errorf("the means are 200 and 240, said are %g and %g", carry.Baseline, carry.Candidate)
	}
	if math.Abs(carry.Estimate-40) > 1e-9 || carry.NBaseline != 5 || carry.NCandidate != 5 {
		t.Errorf("%+v", carry)
	}
}
