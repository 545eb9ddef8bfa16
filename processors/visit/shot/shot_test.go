package shot

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

func entry(pairs ...float64) *event.Entry {
	e := &event.Entry{}
	for i := 0; i+1 < len(pairs); i += 2 {
		e.Measures = append(e.Measures, &event.Measure{Field: event.Field(pairs[i]), Value: pairs[i+1],
			Provenance: event.Provenance_PROVENANCE_MEASURED})
	}
	return e
}

func TestASetHoldsTheContract(t *testing.T) {
	for _, f := range event.Fields() {
		if f.Field <= 0 || f.Field >= 64 {
			t.Errorf("%s has number %d: sets of fields are masks of 64 bits", f.Name, f.Field)
		}
	}
}

// Values share memory with readings; turning them makes new ones.
func TestReadingChangesNothing(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		e := entry(16, 150, 18, rapid.Float64Range(-40, 40).Draw(t, "offline"), 11, 2, 5, rapid.Float64Range(-9, 9).Draw(t, "path"))
		for _, m := range e.Measures {
			m.Handed = rapid.Bool().Draw(t, "handed")
		}
		r := event.ReadingsOf(e)
		as := Frame{Left: rapid.Bool().Draw(t, "left"), BearingDeg: rapid.SampledFrom([]float64{0, 3, -7}).Draw(t, "bearing")}
		first := Read(r, as)
		if !reflect.DeepEqual(r, event.ReadingsOf(e)) {
			t.Fatalf("the readings became %+v", r)
		}
		if again := Read(r, as); !reflect.DeepEqual(first, again) || !reflect.DeepEqual(first, Of(e, as)) {
			t.Fatalf("read again as %+v, not %+v", again, first)
		}
	})
}

func TestPutTouchesNoCopy(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		v := Of(entry(2, 60, 16, 150, 18, -3), Frame{})
		was := v
		want := map[event.Field]float64{2: 60, 16: 150, 18: -3}
		for range rapid.IntRange(1, 5).Draw(t, "puts") {
			f, x := event.Field(rapid.IntRange(1, 63).Draw(t, "field")), rapid.Float64().Draw(t, "value")
			v.Put(f, x)
			want[f] = x
		}
		for f := range event.Field(70) {
			got, ok := v.Get(f)
			if x, there := want[f]; ok != there || got != x {
				t.Fatalf("field %d: %v %v, want %v %v", f, got, ok, x, there)
			}
		}
		if c, o, ok := was.Landing(); !ok || c != 150 || o != -3 {
			t.Fatalf("the copy became %+v", was)
		}
	})
}

func TestHandedValuesTurnForLeftHanders(t *testing.T) {
	e := entry(float64(event.Field_FIELD_CLUB_PATH), 3, float64(event.Field_FIELD_ATTACK_ANGLE), -4)
	for _, m := range e.Measures {
		m.Handed = true
	}
	v := Of(e, Frame{Left: true})
	if p, _ := v.Get(event.Field_FIELD_CLUB_PATH); p != -3 {
		t.Errorf("path %v, want -3", p)
	}
	if a, _ := v.Get(event.Field_FIELD_ATTACK_ANGLE); a != -4 {
		t.Errorf("attack %v must not turn", a)
	}
}

func TestTurningByTheBearingKeepsDistance(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		carry := rapid.Float64Range(10, 250).Draw(t, "carry")
		offline := rapid.Float64Range(-40, 40).Draw(t, "offline")
		bearing := rapid.Float64Range(-20, 20).Draw(t, "bearing")
		e := entry(16, carry, 18, offline, 11, math.Atan2(offline, carry)*180/math.Pi)
		v := Of(e, Frame{BearingDeg: bearing})
		c, o, ok := v.Landing()
		if !ok || math.Abs(math.Hypot(c, o)-math.Hypot(carry, offline)) > 1e-9 {
			t.Fatalf("%v, %v: distance changed", c, o)
		}
		direction, _ := v.Get(event.Field_FIELD_LAUNCH_DIRECTION)
		if math.Abs(v.Ours.Direction-direction) > 1e-9 {
			t.Fatalf("point turned to %v, direction to %v", v.Ours.Direction, direction)
		}
	})
}

func TestOursFillsWhatIsMissingOnly(t *testing.T) {
	launch := []float64{2, 70, 10, 12, 11, 0, 12, 2700, 13, 0}
	v := Of(entry(launch...), Frame{})
	if !v.Ours.HasFlight || v.Ours.Carry < 200 || v.Has&(1<<event.Field_FIELD_CARRY) != 0 {
		t.Fatalf("no carry computed from a launch: %+v", v.Ours)
	}
	full := Of(entry(append(launch, 16, 230, 18, 5, 21, 38)...), Frame{})
	if full.Ours.HasFlight {
		t.Error("computed although the device measured all of it")
	}
	if full.Ours.HasStandardAir {
		t.Error("standard-air carry without knowing the air")
	}
}

func TestStandardAirCarry(t *testing.T) {
	high := entry(2, 70, 10, 12, 12, 2700, 16, 240, 18, 0, 21, 38, 60, 25, 61, 83000)
	v := Of(high, Frame{})
	if v.Ours.HasStandardAir {
		t.Error("adjusted a carry of which it is not known whether the device did it already")
	}
	high.Measure(event.Field_FIELD_CARRY).AirAdjusted = event.AirAdjusted_AIR_AS_FLOWN
	v = Of(high, Frame{})
	if !v.Ours.HasStandardAir || v.Ours.StandardCarry >= 240 || v.Ours.StandardCarry < 200 {
		t.Errorf("thin air carried 240 m: standard air %+v", v.Ours)
	}
	high.Measure(event.Field_FIELD_CARRY).AirAdjusted = event.AirAdjusted_AIR_ADJUSTED
	if v = Of(high, Frame{}); v.Ours.StandardCarry != 240 {
		t.Errorf("a carry that the device adjusted changed to %v", v.Ours.StandardCarry)
	}
}

func TestSpinFromItsParts(t *testing.T) {
	v := Of(entry(2, 60, 10, 14, 14, 3000, 15, 400), Frame{})
	l, ok := v.Launch()
	if !ok || math.Abs(l.SpinRate-math.Hypot(3000, 400)) > 1e-9 || l.SpinAxis <= 0 {
		t.Errorf("launch %+v, %v", l, ok)
	}
}

func TestNothingNotFiniteGetsIn(t *testing.T) {
	v := Of(entry(16, math.NaN(), 18, math.Inf(1), 99, 1, -1, 2), Frame{BearingDeg: 3})
	if v.Has != 0 {
		t.Errorf("%b", v.Has)
	}
}
