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
	page, began, returned := "", 1, [2]int{3, 0}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprintf(w, "# TYPE fairlead_process_bay_returns_total counter\nfairlead_process_bay_returns_total{bay=\"quay\"} %d\n"+
			"fairlead_process_bay_returns_total{bay=\"pier\"} %d\n# TYPE process_start_time_seconds gauge\n"+
			"process_start_time_seconds %d\n%s", returned[0], returned[1], began, page)
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
	page = "# TYPE fairlead_gap_asks_in_vain gauge\nfairlead_gap_asks_in_vain{studio=\"harbour-row\",bay=\"north\"} 1\n" +
		"# TYPE fairlead_audit_wrong_rows gauge\nfairlead_audit_wrong_rows{bay=\"pier\"} 3\n"
	if said := look(time.Second); said != "" {
		t.Errorf("told at once: %s", said)
	}
	if said := look(11 * time.Minute); !strings.Contains(said, "store of pier/wrong/warning: 3 rows") || strings.Contains(said, "gap") {
		t.Errorf("after eleven minutes: %s", said)
	}
	page = "# TYPE fairlead_gap_asks_in_vain gauge\nfairlead_gap_asks_in_vain{studio=\"harbour-row\",bay=\"north\"} 2\n" +
		"# TYPE fairlead_process_sensor_drifting gauge\n"
	for _, of := range []string{`field="carry"} 1`, `field="apex"} 0`, `field="landing_angle"} 1`} {
		page += `fairlead_process_sensor_drifting{bay="quay",device="alder",category="iron",` + of + "\n"
	}
	if said := look(time.Second); !strings.Contains(said, "bay north/gap/warning") || !strings.Contains(said, "did not help 2 times") ||
		!strings.Contains(said, "bay quay/drifting/warning: alder, iron, carry and alder, iron, landing_angle: what the device measures") {
		t.Errorf("a gap that does not heal and a device that drifts: %s", said)
	}
	page = ""
	if said := look(time.Second); said != "" {
		t.Errorf("healed: %s", said)
	}
	for began = 2; began < 6; began++ { // started again and again, it has what nobody took from it
		returned = [2]int{0, 0}
		if said := look(time.Second); said != "" {
			t.Errorf("a processor that starts: %s", said)
		}
	}
	for range 2 { // another one comes and goes, and so do both bays
		returned[0], returned[1] = returned[0]+1, returned[1]+1
		if said := look(time.Minute); said != "" {
			t.Errorf("a second processor: %s", said)
		}
	}
	returned[1]++
	if said := look(time.Minute); !strings.Contains(said, "process/leases/warning") || !strings.Contains(said, "within 10m0s pier 3 times.") {
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
		said = words(r.Look([]Disk{{Where: "hub", Free: free, Reserve: 1 << 30}, {Where: "bay north", Free: 500 << 30}}, at))
		at, free = at.Add(time.Minute), free-1<<30
		if said != "" {
			break
		}
	}
	if free != 29<<30 || !strings.Contains(said, "hub/filling/warning: its disk is full in about 29 minutes") {
		t.Errorf("with %d GB: %s", free>>30, said)
	}
	if said := words(r.Look([]Disk{{Where: "hub", Free: 3 << 29, Reserve: 1 << 30}, {Where: "bay quay", Free: 1 << 29, Told: true}},
		at)); !strings.Contains(said, "hub/low/warning: 1.5 GiB are left on its disk, which is full in about") || strings.Contains(said, "quay") {
		t.Errorf("with little room left: %s", said)
	}
	if said := words(r.Look([]Disk{{Where: "hub", Free: 1 << 29, Reserve: 1 << 30}}, at)); !strings.Contains(said, "hub/full/critical") {
		t.Errorf("below the reserve: %s", said)
	}
	free = 200 << 30
	for range 30 { // and a normal day: 12 MB an hour
		at = at.Add(10 * time.Minute)
		if said := words(r.Look([]Disk{{Where: "quiet", Free: free, Reserve: 1 << 30}}, at)); said != "" {
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
	seen.Hub, seen.Bays = []Alarm{{Where: "hub", What: "full"}}, late("north", "quay", "pier")
	for _, b := range []string{"console", "north", "quay"} {
		seen.Bays = append(seen.Bays, health.Alarm{Bay: b, What: "full"})
	}
	seen.Here, seen.Tight = []string{"quay", "console"}, true
	if said := words(seen.Causes()); !strings.HasPrefix(said, "hub/full") || strings.Count(said, "\n") != 2 ||
		!strings.Contains(said, "bay north/full") {
		t.Errorf("a full disk of the hub: %s", said)
	}
}
