package dispersion

import (
	"fairlead/ingest/contract/glossary"
	"math/rand/v2"
	"reflect"
	"testing"
)

func tenShots() []Shot {
	r := rand.New(rand.NewPCG(4, 9))
	var shots []Shot
	for range 10 {
		shots = append(shots, Shot{150 + 4*r.NormFloat64(), 6 * r.NormFloat64()})
	}
	return shots
}

func TestBriefAgreesWithSummarise(t *testing.T) {
	for n := range 11 {
		for _, aim := range []Aim{{}, {Carry: 155, Offline: 2}} {
			full, err := Summarise(glossary.Iron, tenShots()[:n], aim)
			if err != nil {
				t.Fatal(err)
			}
			brief, err := Brief(glossary.Iron, tenShots()[:n], aim)
			if err != nil {
				t.Fatal(err)
			}
			full.Misses, full.Targets, full.WorstTenth, full.Robust, full.Suspects = nil, nil, WorstTenth{}, Robust{}, nil
			if !reflect.DeepEqual(full, brief) {
				t.Errorf("n %d: brief\n%+v\nfull\n%+v", n, brief, full)
			}
		}
	}
}

func BenchmarkBrief(b *testing.B) {
	for b.Loop() {
		if _, err := Brief(glossary.Iron, tenShots(), Aim{}); err != nil {
			b.Fatal(err)
		}
	}
}
