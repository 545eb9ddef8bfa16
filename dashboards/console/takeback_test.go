package console

import (
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/vault"
)

// What a bay kept and the journal does not hold is written again under a number
// of its own; what the journal holds is not.
func TestCopiesComeBackOnce(t *testing.T) {
	t.Parallel()
	j, _, err := journal.Open(journal.Options{Dir: t.TempDir(), Studio: testStudio, Bay: "console"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { j.Close() })
	keys, err := vault.Open(filepath.Join(t.TempDir(), "people.keys"))
	if err != nil {
		t.Fatal(err)
	}
	touched := 0
	w, err := NewWriter(t.Context(), testStudio, []string{"north"}, j, keys, time.Now, slog.New(slog.DiscardHandler),
		func(string) { touched++ })
	if err != nil {
		t.Fatal(err)
	}
	a, err := w.Write(t.Context(), "north", &event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{
		Player: "p-017", Hand: event.Hand_HAND_RIGHT, Category: "iron"}}})
	if err != nil {
		t.Fatal(err)
	}
	kept := proto.Clone(w.Events("north")[0]).(*event.VisitEvent)
	lost := proto.Clone(kept).(*event.VisitEvent)
	lost.Id, lost.Journal, lost.Seq = "lost", "00000000000000ff", 7
	foreign := proto.Clone(lost).(*event.VisitEvent)
	foreign.Id, foreign.Bay = "foreign", "nowhere"
	var copies [][]byte
	for _, ev := range []*event.VisitEvent{kept, lost, foreign} {
		data, err := proto.Marshal(ev)
		if err != nil {
			t.Fatal(err)
		}
		copies = append(copies, data)
	}
	touched = 0
	for round, want := range []uint64{1, 0} {
		if r := w.takeBack(t.Context(), copies); r.Error != "" || r.Sent != want {
			t.Errorf("round %d: %v", round, r)
		}
	}
	got := w.Timeline("north")
	if back := w.logs["north"].Event("lost"); back == nil || back.Journal != a.Journal || back.Seq != a.Seq+1 || touched != 1 || got == nil {
		t.Errorf("came back as %v, %d bays woken", back, touched)
	}
}
