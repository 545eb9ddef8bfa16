package event

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/unit"
)

func TestTablesMatchTheContract(t *testing.T) {
	for n, name := range Field_name {
		if n == 0 {
			continue
		}
		info, ok := Field(n).Info()
		if want := strings.ToLower(strings.TrimPrefix(name, "FIELD_")); !ok || info.Name != want {
			t.Errorf("field %d: table says %q, contract %q", n, info.Name, want)
		}
		if info.Min >= info.Max || !strings.HasPrefix(info.Column, info.Name) {
			t.Errorf("%s: range %g to %g, column %q", name, info.Min, info.Max, info.Column)
		}
		if _, err := unit.Lookup(info.Quantity, ""); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	for n, name := range BuildField_name {
		if n == 0 {
			continue
		}
		info, ok := BuildField(n).Info()
		if want := strings.ToLower(strings.TrimPrefix(name, "BUILD_")); !ok || info.Name != want {
			t.Errorf("build field %d: table says %q, contract %q", n, info.Name, want)
		}
		if info.Text != (info.Quantity == "") {
			t.Errorf("%s: text %v with quantity %q", name, info.Text, info.Quantity)
		}
	}
}

func shot() *Entry {
	id := ShotIDFor("alpha", "17")
	return &Entry{
		Contract: 1, Studio: "harbour-row", Bay: "north", ShotId: id[:], Device: "alpha",
		Measures: []*Measure{
			{Field: Field_FIELD_CLUBHEAD_SPEED, Value: 38}, {Field: Field_FIELD_BALL_SPEED, Value: 53},
			{Field: Field_FIELD_CARRY, Value: 150}, {Field: Field_FIELD_TOTAL, Value: 160},
			{Field: Field_FIELD_SPIN_RATE, Value: 6500},
		},
	}
}

func TestValidateEntry(t *testing.T) {
	now := time.Date(2026, 5, 1, 10, 0, 0, 0, time.UTC)
	if f := ValidateEntry(shot(), now); len(f) != 0 {
		t.Fatalf("a good shot is refused: %v", f)
	}
	set := func(f Field, v float64) func(*Entry) {
		return func(e *Entry) {
			if m := e.Measure(f); m != nil {
				m.Value = v
				return
			}
			e.Measures = append(e.Measures, &Measure{Field: f, Value: v})
		}
	}
	for name, c := range map[string]struct {
		spoil func(*Entry)
		field string
	}{
		"NaN":           {set(Field_FIELD_CARRY, math.NaN()), "carry"},
		"infinity":      {set(Field_FIELD_SPIN_RATE, math.Inf(1)), "spin_rate"},
		"wrong unit":    {set(Field_FIELD_BALL_SPEED, 118), "ball_speed"},
		"too far":       {set(Field_FIELD_CARRY, 399), "carry"},
		"impossible":    {set(Field_FIELD_BALL_SPEED, 90), "ball_speed"},
		"short total":   {set(Field_FIELD_TOTAL, 20), "total"},
		"side spin":     {set(Field_FIELD_SIDE_SPIN, 9000), "side_spin"},
		"unknown field": {set(Field(99), 1), "field_99"},
		"twice": {func(e *Entry) {
			e.Measures = append(e.Measures, &Measure{Field: Field_FIELD_CARRY, Value: 1})
		}, "carry"},
		"future":   {func(e *Entry) { e.DeviceUnixNs = now.Add(48 * time.Hour).UnixNano() }, "device_time"},
		"past":     {func(e *Entry) { e.DeviceUnixNs = 1 }, "device_time"},
		"empty":    {func(e *Entry) { e.Measures = nil }, ""},
		"contract": {func(e *Entry) { e.Contract = 9 }, "contract"},
		"bay":      {func(e *Entry) { e.Bay = "North bay" }, "bay"},
	} {
		e := shot()
		c.spoil(e)
		faults := ValidateEntry(e, now)
		if !slices.ContainsFunc(faults, func(f *Fault) bool { return f.Field == c.field && f.Reason != "" }) {
			t.Errorf("%s: faults %v do not name %q", name, faults, c.field)
		}
	}
}

func TestShotIDs(t *testing.T) {
	raw := []byte("1,2,3")
	ids := []ShotID{
		ShotIDFor("a", "bc"), ShotIDFor("ab", "c"), ShotIDForLine("a", raw, 1), ShotIDForLine("a", raw, 2), ShotIDForLine("b", raw, 1),
	}
	for i, a := range ids {
		back, err := ParseShotID(a.String())
		if err != nil || back != a {
			t.Errorf("%s returns as %s, %v", a, back, err)
		}
		for _, b := range ids[:i] {
			if a == b {
				t.Errorf("two shots share the id %s", a)
			}
		}
	}
	for _, bad := range []string{"", "xyz", "0011"} {
		if _, err := ParseShotID(bad); err == nil {
			t.Errorf("%q is taken as a shot id", bad)
		}
	}
}

func TestBuildKeyIgnoresOrderAndName(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		specs := rapid.SliceOfNDistinct(rapid.Custom(func(t *rapid.T) *Spec {
			info := rapid.SampledFrom(buildFieldInfos).Draw(t, "field")
			return &Spec{Field: info.Field, Number: rapid.Float64Range(0, 10).Draw(t, "number")}
		}), 0, 6, func(s *Spec) BuildField { return s.Field }).Draw(t, "specs")
		a := &Build{Name: "one", Specs: specs, Gamer: true}
		b := proto.Clone(a).(*Build)
		b.Name, b.Gamer = "two", false
		slices.Reverse(b.Specs)
		if BuildKey(a) != BuildKey(b) {
			t.Fatalf("keys differ: %v and %v", a, b)
		}
		if len(b.Specs) > 0 {
			b.Specs[0].Number++
			if BuildKey(a) == BuildKey(b) {
				t.Fatal("a changed part keeps the key")
			}
		}
	})
}

func TestNewIDsSortByBirth(t *testing.T) {
	now := time.Now()
	a, b := NewID(now), NewID(now.Add(time.Millisecond))
	if a >= b || len(a) != 22 {
		t.Errorf("%q then %q", a, b)
	}
}
