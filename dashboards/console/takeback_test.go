package console

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
	"fairlead/ingest/log/vault"
	"fairlead/processors/ask/erase"
	"fairlead/processors/hub/process"
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

// A hub that lost its disk gets back from a bay that was off meanwhile what was said
// of a player who was erased since: it knows whom it forgot, and erases again.
func TestWhoWasForgottenIsErasedAgainWhenABayBringsThemBack(t *testing.T) {
	t.Parallel()
	r := newRig(t)
	open := func(player string) string {
		_, a, p := r.post("north", &event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: player,
			Hand: event.Hand_HAND_RIGHT, Category: "iron"}}})
		if a.Session == "" {
			t.Fatal(p)
		}
		return a.Session
	}
	session := open("p-forgotten")
	r.post("north", &event.VisitEvent{Session: session, Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}})
	open("p-other")
	r.stop()
	visits := filepath.Join(r.dir, "visits")
	kept := payloads(t, visits)
	if len(kept) < 3 {
		t.Fatal(len(kept))
	}
	keys, err := vault.Open(vault.Beside(filepath.Join(r.dir, "people.json")))
	if err == nil {
		err = errors.Join(keys.Forget("p-forgotten", []string{session}, time.Now()), os.RemoveAll(visits),
			r.js.DeleteStream(t.Context(), stream.Visits), stream.Declare(t.Context(), r.js, stream.DefaultLayout()))
	}
	if err != nil {
		t.Fatal(err)
	}
	asked := func() (all []erase.Request) {
		t.Helper()
		if code, text := r.raw(http.MethodGet, "/api/erasures", nil); code != http.StatusOK || json.Unmarshal(text, &all) != nil {
			t.Fatalf("%d %s", code, text)
		}
		return all
	}
	r.start(r.nc.ConnectedUrl())
	if all := asked(); len(all) != 1 || all[0].Player != "p-forgotten" {
		t.Fatalf("%+v", all)
	}
	// The hub looks, finds nothing, and is done.
	if code, text := r.raw(http.MethodPost, "/api/erasures/p-forgotten/done", nil); code != http.StatusOK {
		t.Fatalf("%d %s", code, text)
	}
	data, err := proto.Marshal(&event.RepairRequest{Keep: &event.Keep{Events: kept}})
	if err != nil {
		t.Fatal(err)
	}
	m, err := r.nc.Request(stream.Place{Studio: testStudio, Bay: process.ConsoleBay}.RepairSubject(), data, time.Minute)
	reply := &event.RepairReply{}
	if err == nil {
		err = proto.Unmarshal(m.Data, reply)
	}
	if err != nil || reply.Sent != uint64(len(kept)) {
		t.Fatal(reply, err)
	}
	for _, when := range []string{"at once", "after a start"} { // and is asked for once
		all := asked()
		if len(all) != 2 || all[1].Player != "p-forgotten" || !all[1].Waits() || !all[1].IsDue(time.Now().Add(-erase.AfterWhoAsked)) {
			t.Errorf("%s: %+v", when, all)
		}
		r.stop()
		r.start(r.nc.ConnectedUrl())
	}
}

// payloads are what the console's journal in a folder holds.
func payloads(t *testing.T, dir string) (out [][]byte) {
	t.Helper()
	j, _, err := journal.Open(journal.Options{Dir: dir, Studio: testStudio, Bay: "console"})
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	r := j.Read(j.Journals()[0].ID, 1) // not the active one, which opening it here began
	defer r.Close()
	for {
		e, ok, err := r.TryNext()
		if errors.Is(err, io.EOF) || err == nil && !ok {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, bytes.Clone(e.Payload))
	}
}
