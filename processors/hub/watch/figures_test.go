package watch

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"fairlead/processors/hub/health"
)

// words joins what alarms say, for a test that looks for parts of it.
func words(list []Alarm) string {
	var b strings.Builder
	for _, a := range list {
		fmt.Fprintf(&b, "%s/%s/%s: %s\n", a.Where, a.What, a.Severity, a.Text)
	}
	return b.String()
}

func TestFiguresAboveTheirBoundsAreToldAfterAWhile(t *testing.T) {
	page, owned := "", 2
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprintf(w, "# TYPE fairlead_process_bays_owned gauge\nfairlead_process_bays_owned %d\n%s", owned, page)
	}))
	defer server.Close()
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	f := &Figures{Metrics: Scrape(http.DefaultClient, func() string { return server.URL }), Now: func() time.Time { return now }}
	look := func(after time.Duration) string { now = now.Add(after); return words(f.Look(context.Background())) }
	if said := look(0); said != "" {
		t.Errorf("a quiet hub: %s", said)
	}
	page = "# TYPE fairlead_broker_bay_floods gauge\nfairlead_broker_bay_floods{studio=\"harbour-row\",bay=\"pier\"} 2\n"
	if said := look(time.Second); !strings.Contains(said, "bay pier/flooding/critical") || !strings.Contains(said, "2 times in an hour") {
		t.Errorf("a flood is not told at once: %s", said)
	}
	page = "# TYPE fairlead_broker_visits_full_percent gauge\nfairlead_broker_visits_full_percent 83\n"
	if said := look(time.Second); !strings.Contains(said, "filling/warning") || !strings.Contains(said, "83 hundredths of broker.visits") {
		t.Errorf("a log that fills up is not told: %s", said)
	}
	page = "# TYPE fairlead_gap_open_entries gauge\nfairlead_gap_open_entries{studio=\"harbour-row\",bay=\"north\"} 12\n" +
		"# TYPE fairlead_process_sensor_drifting gauge\nfairlead_process_sensor_drifting{bay=\"quay\",field=\"carry\"} 1\n"
	if said := look(time.Second); said != "" {
		t.Errorf("told at once: %s", said)
	}
	if said := look(6 * time.Minute); !strings.Contains(said, "bay north/gap/warning: 12 entries") || strings.Contains(said, "drifting") {
		t.Errorf("after six minutes: %s", said)
	}
	if said := look(6 * time.Minute); !strings.Contains(said, "bay quay/drifting") {
		t.Errorf("after twelve: %s", said)
	}
	page = ""
	if said := look(time.Second); said != "" {
		t.Errorf("healed: %s", said)
	}
	for range 8 { // two processors take each other's bays
		owned = 3 - owned
		look(20 * time.Second)
	}
	if said := look(time.Second); !strings.Contains(said, "process/leases") {
		t.Errorf("leases to and fro: %q", said)
	}
	if said := look(15 * time.Minute); said != "" {
		t.Errorf("leases at rest: %s", said)
	}
	server.Close()
	if said := look(time.Second); said != "" {
		t.Errorf("of a process that does not answer: %s", said)
	}
}

func TestADiskThatFillsIsToldBeforeItIsFull(t *testing.T) {
	var r Rooms
	at := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	free := uint64(40 << 30)
	var said string
	for range 30 { // a GB a minute
		said = words(r.Look([]Disk{{"hub", free, 1 << 30}, {"bay north", 500 << 30, 0}}, at))
		at, free = at.Add(time.Minute), free-1<<30
		if said != "" {
			break
		}
	}
	if free != 29<<30 || !strings.Contains(said, "hub/filling/warning: its disk is full in about 29 minutes") {
		t.Errorf("with %d GB: %s", free>>30, said)
	}
	if said := words(r.Look([]Disk{{"hub", 1 << 29, 1 << 30}}, at)); !strings.Contains(said, "hub/full/critical") {
		t.Errorf("below the reserve: %s", said)
	}
	free = 200 << 30
	for range 30 { // and a normal day: 12 MB an hour
		at = at.Add(10 * time.Minute)
		if said := words(r.Look([]Disk{{"quiet", free, 1 << 30}}, at)); said != "" {
			t.Errorf("a quiet disk: %s", said)
		}
		free -= 2 << 20
	}
}

func TestASlowBrokerIsNotBlamedOnTheBays(t *testing.T) {
	late := func(bays ...string) (out []health.Alarm) {
		for _, b := range bays {
			out = append(out, health.Alarm{Bay: b, What: "late", Text: "entries wait"})
		}
		return out
	}
	seen := Seen{At: time.Now(), Since: time.Now().Add(-time.Hour), Open: true, Expected: 3, Bays: late("north", "quay", "pier")}
	if said := words(seen.Causes()); !strings.HasPrefix(said, "broker/slow/critical") || strings.Contains(said, "bay ") {
		t.Errorf("all bays are late: %s", said)
	}
	seen.Bays = late("north", "quay")
	if said := words(seen.Causes()); strings.Contains(said, "broker") || strings.Count(said, "late") != 2 {
		t.Errorf("two of three are late: %s", said)
	}
	seen.Bays = append(seen.Bays, health.Alarm{Bay: "pier", What: "silent"})
	if said := words(seen.Causes()); !strings.Contains(said, "broker/slow") || !strings.Contains(said, "bay pier/silent") {
		t.Errorf("two late, the third switched off: %s", said)
	}
	seen.Hub = []Alarm{{Where: Broker, What: Stuck}}
	if said := words(seen.Causes()); strings.Contains(said, "late") {
		t.Errorf("a hung broker, and bays are blamed: %s", said)
	}
}
