package health

import (
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/relay"
	"fairlead/ingest/log/stream"
)

// A distribution of a bay arrives as one, and a bay that lies about the name
// spoils neither the page nor another bay's.
func TestHistogramsStayHistograms(t *testing.T) {
	own := prometheus.NewRegistry()
	h := prometheus.NewHistogram(prometheus.HistogramOpts{Name: histograms[0], Help: "Time.", Buckets: []float64{.01, .1}})
	own.MustRegister(h)
	for _, v := range []float64{.005, .05, .06, 3} {
		h.Observe(v)
	}
	bays := New([]stream.Place{{Studio: "s", Bay: "a"}, {Studio: "s", Bay: "b"}}, time.Now, nil)
	say := func(bay string, counters map[string]float64) {
		data, err := proto.Marshal(&event.Heartbeat{Counters: counters})
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := bays.take(stream.Place{Studio: "s", Bay: bay}, data); !ok {
			t.Fatal("the heartbeat was refused")
		}
	}
	say("a", map[string]float64{histograms[0]: 1, histograms[0] + "_bucket": 2, histograms[0] + `_sum{le="1"}`: 1, histograms[0] + "_count": -1})
	say("b", relay.Samples(own))
	hub := prometheus.NewRegistry()
	hub.MustRegister(NewCollector(bays))
	want := strings.NewReplacer("NAME", histograms[0]).Replace(`# HELP NAME Reported by the bay's collector.
# TYPE NAME histogram
NAME_bucket{bay="b",studio="s",le="0.01"} 1
NAME_bucket{bay="b",studio="s",le="0.1"} 3
NAME_bucket{bay="b",studio="s",le="+Inf"} 4
NAME_sum{bay="b",studio="s"} 3.115
NAME_count{bay="b",studio="s"} 4
# HELP fairlead_bay_samples_refused Samples of the bay's last heartbeat that are not shown: not its own names, said twice, or too many.
# TYPE fairlead_bay_samples_refused gauge
fairlead_bay_samples_refused{bay="a",studio="s"} 4
fairlead_bay_samples_refused{bay="b",studio="s"} 0
`)
	if err := testutil.GatherAndCompare(hub, strings.NewReader(want), histograms[0], "fairlead_bay_samples_refused"); err != nil {
		t.Error(err)
	}
}
