package fleet

import (
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

const golden = "../../../testdata/fleet"

// readGolden reads what golden.R wrote: case, key, value.
func readGolden(t *testing.T) map[string]map[string]float64 { return readGoldenFile(t, "golden.csv") }

func readGoldenFile(t *testing.T, name string) map[string]map[string]float64 {
	t.Helper()
	f, err := os.Open(filepath.Join(golden, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]map[string]float64{}
	for _, r := range rows[1:] {
		if out[r[0]] == nil {
			out[r[0]] = map[string]float64{}
		}
		if out[r[0]][r[1]], err = strconv.ParseFloat(r[2], 64); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func readTable(t testing.TB, file string, c CSVColumns) *Table {
	t.Helper()
	f, err := os.Open(filepath.Join(golden, file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	tab, err := ReadCSV(f, c)
	if err != nil {
		t.Fatal(err)
	}
	return tab
}

// near holds when a and b agree to 1e-4 of their size, or to 1e-4 where they
// are below one.
func near(a, b float64) bool { return math.Abs(a-b) <= 1e-4*max(1, math.Abs(b)) }

func TestSameAnswersAsR(t *testing.T) {
	want := readGolden(t)
	trials := CSVColumns{Player: "player", Session: "session", Y: "y", V: "v", Used: []string{"length", "lie", "order", "speed"}}
	free := trials
	free.V = ""
	contrasts := CSVColumns{Player: "player", Session: "session", Y: "y", V: "v", V0: "v0", Used: []string{"length", "lie", "speed"}}
	bcg := CSVColumns{Player: "trial", Y: "yi", V: "vi", Used: []string{"ablat", "year"}}
	sleep := CSVColumns{Player: "Subject", Y: "Reaction", Used: []string{"Days"}}
	four := []string{"length", "lie", "order", "length:speed"}
	cases := []struct {
		name, file string
		cols       CSVColumns
		spec       Spec
		test       Test
	}{
		{"bcg", "bcg.csv", bcg, Spec{Intercept: true}, Normal},
		{"bcg-knha", "bcg.csv", bcg, Spec{Intercept: true}, KnappHartung},
		{"bcg-ablat", "bcg.csv", bcg, Spec{Intercept: true, Fixed: []string{"ablat"}}, Normal},
		{"bcg-two-adhoc", "bcg.csv", bcg, Spec{Intercept: true, Fixed: []string{"ablat", "year"}}, KnappHartung},
		{"bangertdrowns", "bangertdrowns.csv", CSVColumns{Player: "study", Y: "yi", V: "vi", Used: []string{"length", "feedback"}},
			Spec{Intercept: true, Fixed: []string{"length", "feedback", "length:feedback"}}, Normal},
		{"konstantopoulos", "konstantopoulos.csv", CSVColumns{Player: "district", Y: "yi", V: "vi", Used: []string{"year"}},
			Spec{Intercept: true, Fixed: []string{"year"}, Random: []string{"1"}}, Normal},
		{"sleep-full", "sleepstudy.csv", sleep, Spec{Intercept: true, Fixed: []string{"Days"}, Random: []string{"1", "Days"},
			FullCovariance: true, Variance: Estimated}, Normal},
		{"sleep-diag", "sleepstudy.csv", sleep, Spec{Intercept: true, Fixed: []string{"Days"}, Random: []string{"1", "Days"},
			Variance: Estimated}, Normal},
		{"sleep-intercept", "sleepstudy.csv", sleep, Spec{Intercept: true, Fixed: []string{"Days"}, Random: []string{"1"}, Variance: Estimated},
			Normal},
		{"chick", "chickweight.csv", CSVColumns{Player: "Chick", Y: "weight", Used: []string{"Time", "d3"}},
			Spec{Intercept: true, Fixed: []string{"Time", "Time:d3"}, Random: []string{"1", "Time"}, Variance: Estimated}, Normal},
		{"trials-level", "trials.csv", trials, Spec{Fixed: four, SessionLevel: true}, Normal},
		{"trials-level-diag", "trials.csv", trials, Spec{Fixed: four, Random: []string{"length", "lie"}, SessionLevel: true}, Normal},
		{"trials-level-full", "trials.csv", trials,
			Spec{Fixed: four, Random: []string{"length", "lie"}, FullCovariance: true, SessionLevel: true}, Normal},
		{"trials-full3", "trials.csv", trials, Spec{Intercept: true, Fixed: four, Random: []string{"1", "length", "lie"}, FullCovariance: true},
			Normal},
		{"trials-level-nov", "trials.csv", free, Spec{Fixed: four, Random: []string{"length", "lie"}, SessionLevel: true, Variance: Estimated},
			Normal},
		{"contrasts", "contrasts.csv", contrasts, Spec{Intercept: true, Fixed: []string{"length", "lie", "length:speed"}, Variance: Shared},
			Normal},
		{"contrasts-diag", "contrasts.csv", contrasts,
			Spec{Fixed: []string{"length", "lie", "length:speed"}, Random: []string{"length", "lie"}, Variance: Shared}, Normal},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d, _, err := readTable(t, c.file, c.cols).Data(c.spec)
			if err != nil {
				t.Fatal(err)
			}
			f, err := d.Fit(context.Background(), Options{Test: c.test})
			if err != nil {
				t.Fatal(err)
			}
			got := flatten(f)
			checked := 0
			for k, v := range want[c.name] {
				if len(k) > 4 && k[:4] == "blup" {
					continue
				}
				g, ok := got[k]
				if !ok {
					t.Errorf("nothing to compare with %s", k)
				} else if !near(g, v) {
					t.Errorf("%s: %.8g, R says %.8g", k, g, v)
				}
				checked++
			}
			if checked < 4 {
				t.Fatalf("only %d values compared", checked)
			}
			t.Logf("%d values, %d iterations, warnings %v", checked, f.Iterations, f.Warnings)
		})
	}
}

// flatten gives a fit's numbers the names that golden.R uses.
func flatten(f *Fit) map[string]float64 {
	m := map[string]float64{"tau2": f.Tau2, "loglik": f.LogLik, "reml": f.REML, "k": float64(f.K)}
	list := func(key string, v []float64) {
		for i, x := range v {
			if len(v) == 1 {
				m[key] = x
			} else {
				m[fmt.Sprintf("%s.%d", key, i+1)] = x
			}
		}
	}
	var est, se, p, lo, hi, sd, cor, clustered []float64
	for _, t := range f.Terms {
		est, se, p = append(est, t.Value), append(se, t.SE), append(p, t.P)
		lo, hi = append(lo, t.CILow), append(hi, t.CIHigh)
		clustered = append(clustered, t.Clustered)
	}
	for i, r := range f.Random {
		sd = append(sd, r.SD)
		for k := 0; k < i; k++ {
			cor = append(cor, f.RandomCor[i][k])
		}
	}
	list("estimate", est)
	list("se", se)
	list("p", p)
	list("ci_low", lo)
	list("ci_high", hi)
	var crossed []float64
	for _, c := range f.Crossed {
		crossed = append(crossed, c.SD)
	}
	list("crossed", crossed)
	list("sd", sd)
	list("clustered", clustered)
	list("cor", cor)
	if len(f.Terms) > 0 && f.Terms[0].PILow != nil {
		m["pi_low"], m["pi_high"] = *f.Terms[0].PILow, *f.Terms[0].PIHigh
	}
	return m
}
