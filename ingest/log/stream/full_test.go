package stream

import (
	"fmt"
	"testing"

	"github.com/nats-io/nats.go/jetstream"
)

// A log of visits that has no room left refuses what is new, keeps what it holds,
// and takes what waited once its bound is raised: the same messages, each once.
func TestAFullLogOfVisitsRefusesAndLosesNothing(t *testing.T) {
	b := startBroker(t, nil)
	_, js := connect(t, Link{URL: b.URL(), Name: "test"})
	layout := DefaultLayout()
	layout.VisitsBytes = 20 << 10
	if err := Declare(t.Context(), js, layout); err != nil {
		t.Fatal(err)
	}
	var all []Message
	for i := range 60 {
		all = append(all, Message{north.VisitsSubject(), fmt.Sprintf("e-%d", i), make([]byte, 600)})
	}
	done, err := Publish(t.Context(), js, all)
	if err == nil || done == 0 || done >= len(all) {
		t.Fatalf("%d of %d taken, %v", done, len(all), err)
	}
	if full := b.Full(Visits); full < .9 || full > 1 {
		t.Errorf("%.2f of the bound is taken", full)
	}
	held := func() uint64 {
		s, err := js.Stream(t.Context(), Visits)
		if err != nil {
			t.Fatal(err)
		}
		return s.CachedInfo().State.Msgs
	}
	if n := held(); n < uint64(done) || n >= uint64(len(all)) {
		t.Errorf("%d in the log, %d acknowledged", n, done)
	}
	layout.VisitsBytes = 1 << 20
	if err := Declare(t.Context(), js, layout); err != nil {
		t.Fatal(err)
	}
	if done, err := Publish(t.Context(), js, all); done != len(all) || err != nil {
		t.Fatal(done, err)
	}
	if n := held(); n != uint64(len(all)) {
		t.Errorf("%d in the log, want each of %d once", n, len(all))
	}
	// A bound below what is there takes nothing away.
	layout.VisitsBytes = 10 << 10
	if err := Declare(t.Context(), js, layout); err != nil {
		t.Fatal(err)
	}
	if n := held(); n != uint64(len(all)) {
		t.Errorf("%d left of %d below a lower bound", n, len(all))
	}
	_, err = js.Publish(t.Context(), north.VisitsSubject(), []byte("x"), jetstream.WithMsgID("later"))
	if err == nil {
		t.Error("taken beyond the bound")
	}
}
