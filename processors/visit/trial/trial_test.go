package trial

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/shot"
)

func at(carry, offline float64) Shot {
	e := &event.Entry{Measures: []*event.Measure{
		{Field: event.Field_FIELD_CARRY, Value: carry}, {Field: event.Field_FIELD_OFFLINE, Value: offline},
	}}
	values := shot.Of(e, shot.Frame{})
	return Shot{Values: &values, Counts: true}
}

func TestComputeByHand(t *testing.T) {
	left := at(500, 500)
	left.Counts, left.Excluded = false, true
	practice := at(1, 1)
	practice.Counts = false
	r := Compute([]Shot{at(150, -2), left, at(154, 4), practice, at(146, 4)})
	if r.N != 3 || r.Excluded != 1 || r.SetAside != 1 || r.CarryMean != 150 || r.OfflineMean != 2 {
		t.Errorf("%+v", r)
	}
	if r.CarryCarry != 32 || r.OfflineOffline != 24 || r.CarryOffline != 0 || r.CarryFourth != 512 {
		t.Errorf("scatter %v %v %v, fourth %v", r.CarryCarry, r.CarryOffline, r.OfflineOffline, r.CarryFourth)
	}
	if m, ok := r.Field(event.Field_FIELD_CARRY); !ok || m.N != 3 || m.Mean != 150 || m.SS != 32 {
		t.Errorf("carry %+v", m)
	}
}

func TestEmptiedTrialIsZero(t *testing.T) {
	gone := at(150, 3)
	gone.Counts = false
	if r := Compute([]Shot{gone}); !reflect.DeepEqual(r, Row{SetAside: 1}) {
		t.Errorf("%+v", r)
	}
}

func TestTakingAShotOutAndBackChangesNoBit(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 20).Draw(t, "n")
		var shots []Shot
		for range n {
			shots = append(shots, at(rapid.Float64Range(50, 250).Draw(t, "carry"), rapid.Float64Range(-40, 40).Draw(t, "offline")))
		}
		before := Compute(shots)
		i := rapid.IntRange(0, n-1).Draw(t, "out")
		shots[i].Counts = false
		Compute(shots)
		shots[i].Counts = true
		if after := Compute(shots); !reflect.DeepEqual(before, after) {
			t.Fatalf("%+v\n%+v", before, after)
		}
		// Roots before the product, and a floor: offsets of 1e-150 m square to less than a float64 holds.
		if math.Abs(before.CarryOffline) > math.Sqrt(before.CarryCarry)*math.Sqrt(before.OfflineOffline)*(1+1e-9)+1e-150 {
			t.Fatal("scatter matrix is not one")
		}
	})
}
