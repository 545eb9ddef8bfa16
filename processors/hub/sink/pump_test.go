package sink

import (
	"testing"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/log/stream"
)

// A consumer's name says where it began, and no other bay's is taken for it.
func TestAConsumersNameSaysWhereItBegan(t *testing.T) {
	place := stream.Place{Studio: "harbour-row", Bay: "north"}
	prefix := consumerPrefix(place)
	for _, start := range []uint64{0, 1, 7_000_001} {
		name := consumerName(place, start, time.Now())
		if got, ok := startOf(name[len(prefix):]); !ok || got != max(start, 1)-1 {
			t.Errorf("%s: %d, %v", name, got, ok)
		}
	}
	for _, other := range []string{
		consumerName(stream.Place{Studio: "harbour-row", Bay: "north-x1"}, 9, time.Now()), prefix + "0123456789abcdef012345",
		prefix + "-9", prefix + "0-x",
	} {
		if got, ok := startOf(other[len(prefix):]); ok {
			t.Errorf("%s begins at %d", other, got)
		}
	}
}

type numbered struct {
	jetstream.Msg
	n uint64
}

func (m numbered) Metadata() (*jetstream.MsgMetadata, error) {
	return &jetstream.MsgMetadata{Sequence: jetstream.SequencePair{Consumer: m.n}}, nil
}

// What the consumer gave and did not come is noticed, but not while it may be on
// its way, nor while what came is being taken.
func TestWhatDidNotComeIsNoticed(t *testing.T) {
	var a tap
	now := time.Now()
	at := func(s float64) time.Time { return now.Add(time.Duration(s * float64(time.Second))) }
	if a.lost(5, at(0)) || a.lost(5, at(9)) {
		t.Error("before anything was waited for")
	}
	a.waiting()
	if a.lost(0, at(10)) || a.lost(5, at(20)) || a.lost(5, at(21)) || !a.lost(5, at(22)) {
		t.Error("before the first: it is lost when it was owed twice, with patience between")
	}
	a.came(numbered{n: 5})
	if a.lost(9, at(30)) || a.lost(9, at(40)) {
		t.Error("while one is being taken")
	}
	a.waiting()
	if a.lost(5, at(50)) || a.lost(5, at(60)) {
		t.Error("all that was given came")
	}
	// A shot after a long pause is given as the consumer is asked, and comes a moment later.
	if a.lost(6, at(70)) {
		t.Error("what is on its way is no loss")
	}
	a.came(numbered{n: 6})
	a.waiting()
	if a.lost(7, at(80)) || a.lost(7, at(81)) || !a.lost(7, at(82)) {
		t.Error("after the sixth")
	}
}
