package fleet

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairlead/processors/ask/answers"
	"fairlead/processors/ask/enquiry"
	"fairlead/processors/sim"
)

// scaleRow is what one size of a fleet costs.
type scaleRow struct {
	Players      int                `json:"players"`
	Shots        uint64             `json:"shots"`
	Trials       uint64             `json:"trials"`
	InsertS      float64            `json:"insert_s"`
	BytesPerShot float64            `json:"bytes_per_shot"` // entries and trials, on disk
	MB           map[string]float64 `json:"disk_mb"`
	SnapshotS    float64            `json:"snapshot_s"`
	FitS         float64            `json:"fit_all_s"`    // the standard model over all trials, reading and diagnostics included
	FitDriverS   float64            `json:"fit_driver_s"` // over the driver's
	PeakMB       float64            `json:"peak_resident_mb"`
	EngineMB     float64            `json:"engine_peak_resident_mb"`
	P95          map[string]float64 `json:"page_p95_ms"`
	// FirstMs is how long a question of the trade takes that nobody asked of these rows yet.
	FirstMs map[string]float64 `json:"first_ms"`
	Load    string             `json:"load_average"`
}

// TestScale fills a store and measures what grows with it. FAIRLEAD_SCALE names
// sizes in players (12500 make a million shots), separated by commas; results go
// to testdata/scale. Without it a small fleet goes the same way.
func TestScale(t *testing.T) {
	sizes := []int{150}
	named := os.Getenv("FAIRLEAD_SCALE")
	if named != "" {
		sizes = nil
		for _, s := range strings.Split(named, ",") {
			n, err := strconv.Atoi(s)
			if err != nil {
				t.Fatalf("FAIRLEAD_SCALE: %q is no number of players", s)
			}
			sizes = append(sizes, n)
		}
	}
	for _, n := range sizes {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			row := measure(t, n)
			text, _ := json.MarshalIndent(row, "", "  ")
			t.Logf("%s", text)
			if named != "" {
				if err := keepScale(row); err != nil {
					t.Fatal(err)
				}
			}
		})
	}
}

func measure(t *testing.T, players int) scaleRow {
	row := scaleRow{Players: players, MB: map[string]float64{}, P95: map[string]float64{}, FirstMs: map[string]float64{}}
	begun := time.Now()
	o := sim.FleetOptions{Players: players, Seed: 3, Left: 0.11}
	if os.Getenv("FAIRLEAD_SCALE") != "" {
		o.Trade = sim.TradeOptions{Years: 2, Stock: 112, Balls: true, Verdicts: true, Checks: 0.3, Strikes: true, Putters: 0.1}
	}
	s := newSite(t, o)
	row.InsertS = time.Since(begun).Seconds()
	f := s.handler.fleet
	mark, err := f.Refresh(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	row.Shots, row.Trials, row.SnapshotS = mark.Shots, mark.Trials, mark.Seconds
	rows, err := s.store.Conn().Query(t.Context(),
		"SELECT table, sum(bytes_on_disk) FROM system.parts WHERE active AND database = currentDatabase() GROUP BY table")
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		var table string
		var bytes uint64
		if err := rows.Scan(&table, &bytes); err != nil {
			t.Fatal(err)
		}
		row.MB[table] = float64(bytes) / 1e6
	}
	rows.Close()
	row.BytesPerShot = (row.MB["entries"] + row.MB["trials"]) * 1e6 / float64(row.Shots)
	var driver string
	for _, c := range []struct {
		category string
		to       *float64
	}{{"driver", &row.FitDriverS}, {"", &row.FitS}} {
		begun := time.Now()
		a, err := f.Ask(t.Context(), answers.Question{Outcome: "direction", Filter: answers.Filter{Category: c.category}},
			answers.Asking{Stale: true, Progress: func(step string) { t.Logf("%6.1f s %s", time.Since(begun).Seconds(), step) }})
		if err != nil || a.Refused != "" {
			t.Fatal(err, a)
		}
		*c.to = time.Since(begun).Seconds()
		if c.category != "" {
			driver = a.ID
		}
	}
	row.PeakMB = peak(t, "self")
	if engine := s.engine; engine > 0 {
		row.EngineMB = peak(t, strconv.Itoa(engine))
	}
	behind := "/fleet/behind?answer=" + driver + "&attribute=length"
	trials, _, err := f.Behind(t.Context(), mark, answers.Filter{Category: "driver"}, "length", "", 5)
	if err != nil || len(trials) == 0 {
		t.Fatal(err)
	}
	looks := 3
	if os.Getenv("FAIRLEAD_SCALE") != "" {
		looks = 30
	}
	shot := "/fleet/trial?" + url.Values{"studio": {trials[0].Studio}, "session": {trials[0].Session}, "trial": {trials[0].Trial}}.Encode()
	pages := map[string]string{
		"stored answer": "/fleet/?answer=" + driver, "newest answer": "/fleet/?category=driver&outcome=direction",
		"live figures of a studio": "/fleet/?category=driver&studio=harbour-row",
		"live figures of a period": "/fleet/?category=driver&from=2026-01-06&to=2026-01-09", "trials behind": behind, "shots of a trial": shot,
		"builds": "/fleet/compare?category=driver", "kept answers": "/fleet/kept",
		"promises": "/fleet/promises", "priors": "/fleet/priors", "methods": "/fleet/methods",
	}
	kinds := enquiry.Kinds()
	if os.Getenv("FAIRLEAD_SCALE") == "" {
		kinds = nil // cmd/fairlead asks them
	}
	for _, k := range kinds {
		path := "/fleet/questions/" + k.Name
		pages["question: "+k.Name] = path
		begun := time.Now()
		s.get(t, path, http.StatusOK)
		row.FirstMs[k.Name] = float64(time.Since(begun).Milliseconds())
	}
	for name, path := range pages {
		var took []float64
		for range looks {
			begun := time.Now()
			s.get(t, path, http.StatusOK)
			took = append(took, time.Since(begun).Seconds()*1000)
		}
		slices.Sort(took)
		row.P95[name] = took[len(took)*95/100]
	}
	if b, err := os.ReadFile("/proc/loadavg"); err == nil {
		row.Load = strings.Join(strings.Fields(string(b))[:3], " ")
	}
	return row
}

// peak is the most memory that a process had resident, in MB.
func peak(t *testing.T, pid string) float64 {
	b, err := os.ReadFile("/proc/" + pid + "/status")
	if err != nil {
		return 0
	}
	for _, line := range strings.Split(string(b), "\n") {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kb, err := strconv.ParseFloat(strings.Fields(rest)[0], 64)
			if err != nil {
				t.Fatal(err)
			}
			return kb / 1000
		}
	}
	return 0
}

const scaleFolder = "../../testdata/scale"

// keepScale puts a row into testdata/scale, in place of one of the same size.
func keepScale(row scaleRow) error {
	path := filepath.Join(scaleFolder, "scale.json")
	var all []scaleRow
	if b, err := os.ReadFile(path); err == nil {
		if err := json.Unmarshal(b, &all); err != nil {
			return err
		}
	}
	all = slices.DeleteFunc(all, func(r scaleRow) bool { return r.Players == row.Players })
	all = append(all, row)
	slices.SortFunc(all, func(a, b scaleRow) int { return a.Players - b.Players })
	text, err := json.MarshalIndent(all, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(scaleFolder, 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(path, append(text, '\n'), 0o644); err != nil {
		return err
	}
	return drawScale(filepath.Join(scaleFolder, "scale.svg"), all)
}
