package evidence

import (
	"testing"

	"fairlead/ingest/contract/glossary"
)

// What is to be hit next names an outcome as the page of a bay does.
func TestAnOutcomeIsCalledAsThePageCallsIt(t *testing.T) {
	for c, want := range map[glossary.Category]string{glossary.Putter: "start line scatter", glossary.Iron: "direction scatter"} {
		if got := called(c, glossary.Direction); got != want {
			t.Errorf("%s: %q, not %q", c, got, want)
		}
	}
}
