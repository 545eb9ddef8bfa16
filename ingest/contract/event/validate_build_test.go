package event

import (
	"math"
	"slices"
	"testing"
)

func someBuild() *Build {
	return &Build{Name: "gamer", Gamer: true, Specs: []*Spec{
		{Field: BuildField_BUILD_HEAD_MODEL, Text: "Skerry 2"},
		{Field: BuildField_BUILD_LENGTH, Number: 0.94, Knowledge: Knowledge_KNOWLEDGE_MEASURED},
		{Field: BuildField_BUILD_TOTAL_WEIGHT, Number: 0.42},
		{Field: BuildField_BUILD_HEAD_WEIGHT, Number: 0.27},
	}}
}

func TestValidateBuild(t *testing.T) {
	if f := ValidateBuild(someBuild()); len(f) != 0 {
		t.Fatalf("a good build is refused: %v", f)
	}
	if f := append(ValidateBuild(nil), ValidateBuild(&Build{})...); len(f) != 0 {
		t.Fatalf("an unknown club is refused: %v", f)
	}
	add := func(s ...*Spec) func(*Build) { return func(b *Build) { b.Specs = append(b.Specs, s...) } }
	for name, c := range map[string]struct {
		spoil func(*Build)
		field string
	}{
		"unknown part":    {add(&Spec{Field: 999}), "build_field_999"},
		"twice":           {add(&Spec{Field: BuildField_BUILD_LENGTH, Number: 1}), "length"},
		"nil part":        {add(nil), "specs"},
		"infinite":        {add(&Spec{Field: BuildField_BUILD_LOFT, Number: math.Inf(-1)}), "loft"},
		"text for number": {add(&Spec{Field: BuildField_BUILD_LOFT, Number: 30, Text: "34"}), "loft"},
		"number for text": {add(&Spec{Field: BuildField_BUILD_FLEX, Number: 5, Text: "S"}), "flex"},
		"NaN for text":    {add(&Spec{Field: BuildField_BUILD_FLEX, Number: math.NaN(), Text: "S"}), "flex"},
		"empty text":      {add(&Spec{Field: BuildField_BUILD_FLEX}), "flex"},
		"knowledge":       {add(&Spec{Field: BuildField_BUILD_LIE, Number: 62, Knowledge: 4}), "lie.knowledge"},
		"parts too heavy": {add(&Spec{Field: BuildField_BUILD_SHAFT_WEIGHT, Number: 0.16}), "total_weight"},
		"balance":         {add(&Spec{Field: BuildField_BUILD_BALANCE_POINT, Number: 1.2}), "balance_point"},
		"loft":            {add(&Spec{Field: BuildField_BUILD_LOFT, Number: 20}, &Spec{Field: BuildField_BUILD_STATED_LOFT, Number: 56}), "loft"},
		"club id":         {func(b *Build) { b.ClubId = "no. 7" }, "club_id"},
	} {
		b := someBuild()
		c.spoil(b)
		faults := ValidateBuild(b)
		if !slices.ContainsFunc(faults, func(f *Fault) bool { return f.Field == c.field && f.Reason != "" }) {
			t.Errorf("%s: faults %v do not name %q", name, faults, c.field)
		}
	}
}
