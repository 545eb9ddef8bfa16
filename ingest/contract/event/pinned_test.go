package event

import (
	"math"
	"testing"
)

// Rows, tags and verdicts carry these names: other bytes would be other shots and
// other clubs. The literals were computed outside the program, from the layout that
// identity.go and builds.go describe: SHA-256 over parts that say their length in
// four bytes, the low one first.
func TestIdentitiesStayAsTheyAre(t *testing.T) {
	for want, got := range map[string]string{
		"42703306-e203-08fa-0c18-4c9c7ace2545": ShotIDFor("alder", "17").String(),
		"4a77bf97-1580-8464-ee25-f020bf7b4263": ShotIDFor("a", "").String(),
		"6e6aa1ba-4eba-407d-e158-c808712a2899": ShotIDForLine("brook", []byte("1;2;3"), 2).String(),
		"df3f619804a92fdb":                     BuildKey(nil),
		"57b6d21b256ec4a8": BuildKey(&Build{ClubId: "club-7", Name: "own 7", Specs: []*Spec{
			{Field: BuildField_BUILD_STATED_LOFT, Knowledge: 2, Number: 32, Text: "x"},
			{Field: BuildField_BUILD_HEAD_MODEL, Knowledge: Knowledge_KNOWLEDGE_MEASURED, Number: 0.9525},
		}}),
		"6a0a57a44b1d5a45": BuildKey(&Build{Specs: []*Spec{{Field: BuildField_BUILD_LOFT, Number: math.Copysign(0, -1), Text: "stiff"}}}),
	} {
		if got != want {
			t.Errorf("is %s, was %s", got, want)
		}
	}
	if got := (&Entry{Raw: []byte("1;2;3")}).Content(); got != 10580365565563046079 {
		t.Errorf("the content of a line is %d", got)
	}
}
