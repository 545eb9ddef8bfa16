package sink

import (
	"context"
	"fmt"
	"testing"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/deploy/proof"
	"fairlead/ingest/log/stream"
)

// Two processes share the bays evenly, whoever came first; of one that ends the
// other takes all, at once where it ended in order or is known to be dead.
func TestProcessesShareBays(t *testing.T) {
	l, s := newBenchLog(t), benchStore(t)
	var places []stream.Place
	for i := range 4 {
		places = append(places, stream.Place{Studio: benchPlace.Studio, Bay: fmt.Sprint("bay", i)})
	}
	const owned, returned = "fairlead_process_bays_owned", "fairlead_process_bay_returns_total"
	begin := func(owner string) (of func(metric string) int, end func()) {
		r := prometheus.NewRegistry()
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() {
			ended <- Run(ctx, Options{Owner: owner, Conn: l.nc, JS: l.js, Store: s, Bays: places, Registry: r,
				Dead: func(owner string) bool { return owner == "dead" }})
		}()
		of = func(metric string) (n int) {
			families, err := r.Gather()
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range families {
				if f.GetName() == metric {
					for _, m := range f.Metric {
						n += int(m.GetGauge().GetValue() + m.GetCounter().GetValue())
					}
				}
			}
			return n
		}
		return of, func() {
			cancel()
			if err := <-ended; err != nil {
				t.Error(err)
			}
		}
	}
	// One that died in the night holds a bay still.
	if _, err := stream.Acquire(t.Context(), l.js, places[0], "dead"); err != nil {
		t.Fatal(err)
	}
	a, endA := begin("a")
	proof.Until(t, "the first has all", func() bool { return a(owned) == 4 })
	b, endB := begin("b")
	proof.Until(t, "they share", func() bool { return a(owned) == 2 && b(owned) == 2 })
	endB()
	proof.Until(t, "the first has all again", func() bool { return a(owned) == 4 })
	if n := a(returned); n != 2 {
		t.Errorf("%d bays came back to the first, which had given two away", n)
	}
	b, endB = begin("b")
	proof.Until(t, "they share again", func() bool { return a(owned) == 2 && b(owned) == 2 })
	endA()
	proof.Until(t, "the second has all", func() bool { return b(owned) == 4 })
	if n := b(returned); n != 0 {
		t.Errorf("%d bays came back to the second, which gave none away", n)
	}
	endB()
}
