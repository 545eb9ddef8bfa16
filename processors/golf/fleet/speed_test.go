package fleet

import (
	"context"
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// readSpeed reads what speed.R wrote: metafor's time and answer.
func readSpeed(tb testing.TB) (map[string]float64, *Data) {
	tb.Helper()
	f, err := os.Open(filepath.Join(golden, "speed_metafor.csv"))
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		tb.Fatal(err)
	}
	out := map[string]float64{}
	for _, r := range rows[1:] {
		if out[r[0]], err = strconv.ParseFloat(r[1], 64); err != nil {
			tb.Fatal(err)
		}
	}
	d, _, err := readTable(tb, "speed.csv", CSVColumns{Player: "player", Session: "session", Y: "y", V: "v",
		Used: []string{"length", "lie", "order", "speed"}}).Data(
		Spec{Fixed: []string{"length", "lie", "order", "length:speed"}, SessionLevel: true, Random: []string{"length", "lie"}})
	if err != nil {
		tb.Fatal(err)
	}
	return out, d
}

func TestSameAnswerAsMetaforAtItsLargest(t *testing.T) {
	want, d := readSpeed(t)
	f, err := d.Fit(context.Background(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if float64(f.K) != want["rows"] || float64(f.Players) != want["players"] {
		t.Errorf("%d rows of %d players", f.K, f.Players)
	}
	for _, e := range f.Terms {
		if !near(e.Value, want[e.Name]) {
			t.Errorf("%s: %v, metafor %v", e.Name, e.Value, want[e.Name])
		}
	}
	if !near(f.Tau2, want["tau2"]) {
		t.Errorf("τ² %v, metafor %v", f.Tau2, want["tau2"])
	}
}

// BenchmarkAgainstMetafor reports how many times faster than metafor's recorded
// processor time the same fit is.
func BenchmarkAgainstMetafor(b *testing.B) {
	want, d := readSpeed(b)
	n, start := 0, cpuSeconds()
	for b.Loop() {
		if _, err := d.Fit(context.Background(), Options{}); err != nil {
			b.Fatal(err)
		}
		n++
	}
	ours := (cpuSeconds() - start) / float64(n)
	b.ReportMetric(want["cpu_s"]/ours, "times-metafor")
	b.ReportMetric(ours, "cpu-s/fit")
	b.ReportMetric(want["cpu_s"], "cpu-s-metafor")
}
