package visit

import (
	"testing"

	"fairlead/ingest/contract/event"
)

// What was taken back comes back in the order in which it was taken, until
// something else is entered.
func TestRedo(t *testing.T) {
	l, at := &Log{}, int64(0)
	add := func(id string, body *event.VisitEvent) {
		at++
		body.Id, body.RecordedUnixNs, body.EffectiveUnixNs = id, at, at
		l.Add(body)
	}
	feel := func(id string) {
		add(id, &event.VisitEvent{Body: &event.VisitEvent_FeelNoted{FeelNoted: &event.FeelNoted{Trial: "t", Words: id}}})
	}
	undo := func(id, of string) {
		add(id, &event.VisitEvent{Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: of}}})
	}
	redo := func(want string) {
		t.Helper()
		got := ""
		if ev := Redoable(l.All()); ev != nil {
			got = ev.Id
		}
		if got != want {
			t.Errorf("after %d: %q comes back, want %q", at, got, want)
		}
	}
	feel("a")
	feel("b")
	redo("")
	undo("ub", "b")
	redo("ub")
	undo("ua", "a")
	redo("ua")
	undo("ra", "ua")
	redo("ub")
	undo("rb", "ub")
	redo("")
	undo("ub2", "b")
	redo("ub2")
	feel("c")
	redo("")
	undo("u-early", "a")
	redo("u-early")
}
