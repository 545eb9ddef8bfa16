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
	later := now.Add(patience + time.Second)
	if a.lost(5, later) {
		t.Error("before anything was waited for")
	}
	a.waiting()
	if a.lost(5, now) || a.lost(0, later) || !a.lost(5, later) {
		t.Error("before the first")
	}
	a.came(numbered{n: 5})
	if a.lost(9, later) {
		t.Error("while one is being taken")
	}
	a.waiting()
	if a.lost(5, later) || !a.lost(6, later) {
		t.Error("after the fifth")
	}
}
