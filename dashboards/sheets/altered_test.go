package sheets

import (
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
)

func TestACutAtTheButtLeavesTheHeadOn(t *testing.T) {
	build := func(head string, length float64) *event.Build {
		return &event.Build{Gamer: length > .95, Specs: []*event.Spec{{Field: event.BuildField_BUILD_HEAD_MODEL, Text: head},
			{Field: event.BuildField_BUILD_LENGTH, Number: length}}}
	}
	names := func(b *event.Build) string {
		var out []string
		for _, o := range work(glossary.Iron, b, build("Skerry 2", .96)) {
			out = append(out, o.Name)
		}
		return strings.Join(out, ", ")
	}
	if got := names(build("Skerry 2", .94)); got != "Cut the shaft, Fit the grip (solvent), Hit check" {
		t.Errorf("the own club, shorter: %s", got)
	}
	if got := names(build("Skerry 3", .94)); !strings.Contains(got, "Bond the head") {
		t.Errorf("another head: %s", got)
	}
}
