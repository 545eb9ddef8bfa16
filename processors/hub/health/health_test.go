package health

import (
	"log/slog"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

func TestAlarmsAndMetrics(t *testing.T) {
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	north, south := stream.Place{Studio: "harbour-row", Bay: "north"}, stream.Place{Studio: "harbour-row", Bay: "south"}
	b := New([]stream.Place{north, south}, func() time.Time { return now }, slog.New(slog.DiscardHandler))
	if a := b.Alarms(); len(a) != 0 {
		t.Fatalf("alarms before anybody had time to speak: %v", a)
	}
	b.bays[north] = Bay{Place: north, Seen: now, Heartbeat: &event.Heartbeat{
		FreeBytes: 1 << 40, ClockRttNs: 1, ClockOffsetNs: int64(-time.Hour), Unsent: 4, OldestUnsentNs: int64(time.Minute),
		Feeds:    []*event.FeedState{{Feed: "ball", State: "stopped", Detail: "no such folder"}},
		Journals: []*event.JournalState{{Journal: "aa", Quarantined: []*event.Range{{From: 3, To: 4}}}},
		Counters: map[string]float64{`fairlead_collect_lines_total{feed="ball"}`: 7, "go_goroutines": 9,
			`fairlead_build_info{process="collect",version="v1"}`: 1},
	}}
	now = now.Add(31 * time.Second)
	what := map[string]string{}
	for _, a := range b.Alarms() {
		what[a.Bay+" "+a.What] = a.Text
	}
	for key, words := range map[string]string{
		"north silent": "31s", "north late": "4 entries", "north skew": "1h0m0s off", "north feed": "no such folder",
		"north damaged": "3 to 4", "south silent": "never heard",
	} {
		if !strings.Contains(what[key], words) {
			t.Errorf("%s: %q does not say %q", key, what[key], words)
		}
	}
	r := prometheus.NewPedanticRegistry()
	// What every process has, the hub's too: a bay's must not collide with it.
	own := prometheus.NewGauge(prometheus.GaugeOpts{Name: "fairlead_build_info", Help: "1, with the process and its version."})
	r.MustRegister(own, NewCollector(b))
	want := `
		# HELP fairlead_bay_build_info Reported by the bay's collector.
		# TYPE fairlead_bay_build_info gauge
		fairlead_bay_build_info{bay="north",process="collect",studio="harbour-row",version="v1"} 1
		# HELP fairlead_collect_lines_total Reported by the bay's collector.
		# TYPE fairlead_collect_lines_total counter
		fairlead_collect_lines_total{bay="north",feed="ball",studio="harbour-row"} 7
	`
	if err := testutil.GatherAndCompare(r, strings.NewReader(want), "fairlead_collect_lines_total", "fairlead_bay_build_info"); err != nil {
		t.Error(err)
	}
}
