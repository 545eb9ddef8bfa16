package health

import (
	"fmt"
	"log/slog"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"google.golang.org/protobuf/proto"

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

// What a bay reports can neither break the page of metrics, nor fill it, nor
// speak in the hub's names or for another bay.
func TestABayCannotSpoilTheMetrics(t *testing.T) {
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	north, south := stream.Place{Studio: "harbour-row", Bay: "north"}, stream.Place{Studio: "harbour-row", Bay: "south"}
	b := New([]stream.Place{north, south}, func() time.Time { return now }, slog.New(slog.DiscardHandler))
	counters := map[string]float64{
		`fairlead_collect_lines_total{feed="ball"}`:               7,
		`fairlead_collect_lines_total{bay="south",feed="x"}`:      1, // another bay's
		`fairlead_collect_lines_total{feed="a",feed="b"}`:         1, // a label twice
		"fairlead_collect_x{feed=\"\xff\"}":                       1, // no text
		`fairlead_collect_y{b="1",a="2"}`:                         1,
		`fairlead_collect_y{a="2",b="1"}`:                         1, // the same again
		`fairlead_gap_open_entries`:                               1, // the hub's own, with another help
		`fairlead_bay_heard_seconds{studio="x",bay="y"}`:          1,
		`fairlead_console_events_total`:                           1, // not the console
		`fairlead_collect_z{__name__="up"}`:                       1,
		`fairlead_collect_long{feed="` + strings.Repeat("ö", 900): 1,
	}
	for i := range 14000 {
		counters[fmt.Sprintf(`fairlead_collect_flood{feed="%d"}`, i)] = 1
	}
	data, err := proto.Marshal(&event.Heartbeat{Counters: map[string]float64{"fairlead_collect_lines_total": 1}})
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := b.take(north, data); !ok {
		t.Fatal("a heartbeat is not taken")
	}
	if _, ok := b.take(north, data); ok {
		t.Error("a heartbeat on the heels of another is taken")
	}
	for i := range 300 {
		if b.knows(stream.Place{Studio: "harbour-row", Bay: fmt.Sprintf("invented-%d", i)}) {
			t.Fatal("an invented bay is taken in")
		}
	}
	if !b.knows(stream.Place{Studio: "harbour-row", Bay: stream.ConsoleBay}) ||
		b.knows(stream.Place{Studio: "other", Bay: stream.ConsoleBay}) {
		t.Error("the studio's console is known, and no other")
	}
	b.bays[north] = Bay{Place: north, Seen: now, Heartbeat: &event.Heartbeat{Counters: counters}}
	r := prometheus.NewPedanticRegistry()
	own := prometheus.NewGauge(prometheus.GaugeOpts{Name: "fairlead_gap_open_entries", Help: "The hub's own."})
	r.MustRegister(own, NewCollector(b))
	families, err := r.Gather()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, f := range families {
		n += len(f.Metric)
		for _, m := range f.Metric {
			for _, l := range m.Label {
				if l.GetValue() == "south" && strings.HasPrefix(f.GetName(), "fairlead_collect") {
					t.Errorf("%s speaks for another bay", f.GetName())
				}
			}
		}
	}
	if n > maxSamples+20 {
		t.Errorf("%d samples of one bay", n)
	}
	list, refused := samples(north, counters)
	if len(list) != maxSamples || refused != len(counters)-maxSamples {
		t.Errorf("%d shown, %d refused of %d", len(list), refused, len(counters))
	}
}

// A heartbeat that lies about what it has costs no more than one that does not.
func TestHeartbeatsAreTrimmed(t *testing.T) {
	h := &event.Heartbeat{}
	for i := range 5000 {
		h.Journals = append(h.Journals, &event.JournalState{Journal: fmt.Sprint(i)})
		h.Feeds = append(h.Feeds, &event.FeedState{Feed: strings.Repeat("f", 500), Detail: strings.Repeat("ö", 5000)})
	}
	trim(h)
	if len(h.Journals) != maxJournals || len(h.Feeds) != maxFeeds || len(h.Feeds[0].Detail) > maxDetail || len(h.Feeds[0].Feed) > maxValue {
		t.Errorf("%d journals, %d feeds", len(h.Journals), len(h.Feeds))
	}
}
