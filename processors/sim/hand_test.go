package sim

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/protobuf/encoding/protojson"

	"fairlead/ingest/contract/event"
)

// testConsole answers as the hub's console does, and fails now and then.
type testConsole struct {
	MemoryHand
	fail  atomic.Int64 // requests to fail before one is taken
	paths sync.Map
}

func (c *testConsole) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	c.paths.Store(r.Method+" "+r.URL.Path, true)
	body, _ := io.ReadAll(r.Body)
	ev := &event.VisitEvent{}
	if err := protojson.Unmarshal(body, ev); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	if c.fail.Add(-1)%2 == 0 { // kept, and the answer is lost
		_, _ = c.Do(r.Context(), ev)
		panic(http.ErrAbortHandler)
	} else if c.fail.Load() > 0 {
		http.Error(w, "starting", http.StatusServiceUnavailable)
		return
	}
	id, err := c.Do(r.Context(), ev)
	var refused *RefusedError
	if errors.As(err, &refused) {
		w.WriteHeader(http.StatusUnprocessableEntity)
		_ = json.NewEncoder(w).Encode(map[string]any{"faults": refused.Faults})
		return
	}
	_ = json.NewEncoder(w).Encode(map[string]any{"id": id, "effective_unix_ns": ev.EffectiveUnixNs, "journal": "00000000000000cc", "seq": 1})
}

func pausedEvent(id string) *event.VisitEvent {
	return &event.VisitEvent{Contract: 1, Id: id, Studio: "harbour-row", Bay: "north", EffectiveUnixNs: opening.UnixNano(),
		Body: &event.VisitEvent_TrialPaused{TrialPaused: &event.TrialPaused{}}}
}

func TestLostAnswersMakeNoSecondEvent(t *testing.T) {
	c := &testConsole{}
	server := httptest.NewServer(c)
	defer server.Close()
	c.fail.Store(5)
	hand := &ConsoleHand{URL: server.URL, Pause: time.Millisecond, Client: server.Client()}
	id, err := hand.Do(t.Context(), pausedEvent("e1"))
	if err != nil || id != "e1" || len(c.Events()) != 1 {
		t.Errorf("%q, %v, %d events", id, err, len(c.Events()))
	}
	if _, ok := c.paths.Load("POST /api/bays/north/events"); !ok {
		t.Error("posted elsewhere")
	}
}

func TestRefusedAndUnreachable(t *testing.T) {
	server := httptest.NewServer(&testConsole{})
	hand := &ConsoleHand{URL: server.URL, Pause: time.Millisecond, Client: server.Client()}
	_, err := hand.Do(t.Context(), &event.VisitEvent{Id: "e2", Bay: "north", EffectiveUnixNs: 1,
		Body: &event.VisitEvent_FeelNoted{FeelNoted: &event.FeelNoted{}}})
	var refused *RefusedError
	if !errors.As(err, &refused) || refused.Status != 422 || len(refused.Faults) == 0 || !strings.Contains(err.Error(), "studio") {
		t.Errorf("%v", err)
	}
	if _, err := hand.Do(t.Context(), &event.VisitEvent{}); err == nil {
		t.Error("an event without an id was sent")
	}
	server.Close()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	if _, err := hand.Do(ctx, pausedEvent("e3")); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("a console that is away: %v", err)
	}
}

// A console that comes late gets everything, in order, with the times of the taps.
func TestEventsWaitForTheConsole(t *testing.T) {
	c := &testConsole{}
	c.fail.Store(41)
	server := httptest.NewServer(c)
	defer server.Close()
	s, err := RunBays(t.Context(), Options{Studio: "harbour-row", Bays: DemoBays(t.TempDir())[1:2], Seed: 3, For: 200 * time.Millisecond,
		Rate: 500, Quiet: time.Millisecond,
		Hand: &ConsoleHand{URL: server.URL, Pause: time.Millisecond, Client: server.Client()}})
	if err != nil || s.Events != len(c.Events()) || s.Refused != 0 || s.Events < 5 {
		t.Fatalf("%v, %d events, %+v", err, len(c.Events()), s)
	}
	for i, ev := range c.Events()[1:] {
		if before := c.Events()[i]; ev.EffectiveUnixNs <= before.EffectiveUnixNs {
			t.Errorf("event %d is not after the one before", i+1)
		}
	}
}
