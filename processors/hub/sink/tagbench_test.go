package sink

import (
	"testing"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/contract/event"
)

// given is a message that only has its bytes.
type given struct {
	jetstream.Msg
	data []byte
}

func (g given) Data() []byte    { return g.data }
func (g given) Subject() string { return benchPlace.ShotsSubject() }

// BenchmarkTakeShots is what decoding and tagging an entry costs by itself.
func BenchmarkTakeShots(b *testing.B) {
	const n = 20000
	s := benchStore(b)
	data := payloads(b, n)
	b.ReportAllocs()
	for b.Loop() {
		b.StopTimer()
		w := benchWorker(b, s, n)
		b.StartTimer()
		r := event.NewReader()
		for at := 0; at < n; at += maxBatch {
			batch := make([]taken, 0, maxBatch)
			for _, d := range data[at:min(at+maxBatch, n)] {
				batch = append(batch, take(given{data: d}, benchPlace, r))
			}
			if err := w.takeShots(b.Context(), batch); err != nil {
				b.Fatal(err)
			}
			w.queue, w.queued = nil, 0
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/entry")
}
