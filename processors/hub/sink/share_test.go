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
	begin := func(owner string) (owned func() int, end func()) {
		r := prometheus.NewRegistry()
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() {
			ended <- Run(ctx, Options{Owner: owner, Conn: l.nc, JS: l.js, Store: s, Bays: places, Registry: r,
				Dead: func(owner string) bool { return owner == "dead" }})
		}()
		owned = func() int {
			families, err := r.Gather()
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range families {
				if f.GetName() == "fairlead_process_bays_owned" {
					return int(f.Metric[0].GetGauge().GetValue())
				}
			}
			return 0
		}
		return owned, func() {
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
	proof.Until(t, "the first has all", func() bool { return a() == 4 })
	b, endB := begin("b")
	proof.Until(t, "they share", func() bool { return a() == 2 && b() == 2 })
	endA()
	proof.Until(t, "the second has all", func() bool { return b() == 4 })
	endB()
}
