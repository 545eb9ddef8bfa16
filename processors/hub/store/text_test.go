package store

import (
	"testing"

	"fairlead/ingest/contract/event"
)

// Rows that one build wrote are compared with what another says: the text has no
// blank that a build could set.
func TestMessagesAreWrittenAlikeByEveryBuild(t *testing.T) {
	got := faultsText([]*event.Fault{{Field: "line", Value: "a, \"b\"", Reason: "has 1 cells, and the map says 8",
		Hint: "the line may be cut short"}})
	want := `[{"field":"line","value":"a, \"b\"","reason":"has 1 cells, and the map says 8","hint":"the line may be cut short"}]`
	if got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
