package sink

import (
	"encoding/json"
	"runtime"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/rolling"
)

// BenchmarkOpenSession: what a bay takes whose session nobody closes, at twenty
// thousand shots: bytes held a shot, against the bytes of its line, and the
// processor's time until a shot is tagged and its state is written, against that
// of a session of two hundred.
func BenchmarkOpenSession(b *testing.B) {
	const many, few, rounds = 20_000, 200, 10
	for b.Loop() {
		full, held, line := openSession(b, many, rounds)
		small, _, _ := openSession(b, few, rounds)
		b.ReportMetric(float64(held), "B/shot")
		b.ReportMetric(float64(held)/float64(line), "x-line")
		b.ReportMetric(full.Seconds()*1000, "ms/shot")
		b.ReportMetric(full.Seconds()/small.Seconds(), "x-200-shots")
	}
}

func openSession(b *testing.B, n, rounds int) (each time.Duration, held, line int) {
	b.Helper()
	s := benchStore(b)
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	w := workerOf(b, s, openBay(b, s, n))
	if err := w.flush(b.Context()); err != nil {
		b.Fatal(err)
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	held = (int(after.HeapAlloc) - int(before.HeapAlloc)) / n
	builder, read := rolling.NewBuilder(), event.NewReader()
	for i := range rounds {
		e := benchEntry(n + i + 1)
		e.Journal, e.Seq = "00000000000000aa", uint64(n+i+1)
		e.EffectiveUnixNs = time.Now().UnixNano()
		e.ReceivedUnixNs = e.EffectiveUnixNs
		data := marshal(b, e)
		line = len(data)
		begun := time.Now()
		if err := w.takeShots(b.Context(), []taken{take(given{data: data}, benchPlace, read)}); err != nil {
			b.Fatal(err)
		}
		if _, err := json.Marshal(builder.Build(w.snapshot())); err != nil {
			b.Fatal(err)
		}
		each += time.Since(begun) / time.Duration(rounds)
		if err := w.flush(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
	runtime.KeepAlive(w)
	return each, held, line
}
