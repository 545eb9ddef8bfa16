package watch

import (
	"context"
	"log/slog"
	"math"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// TestDaysOfABay: twenty minutes heard, ten missed, twenty switched off, over a
// restart of the watch and over midnight; what the studio's broker lacks is not the bay's.
func TestDaysOfABay(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		dir := t.TempDir()
		var alarms []Alarm
		heard := map[string]time.Time{}
		speaks := true
		run := func(d time.Duration) {
			t.Helper()
			w, err := New(Options{Studio: "harbour-row", File: filepath.Join(dir, "watch.json"), Days: filepath.Join(dir, "days.json"),
				Look: func(context.Context) []Alarm { return alarms }, Now: func() time.Time { return time.Now().UTC() },
				Logger: slog.New(slog.DiscardHandler), Registry: prometheus.NewRegistry(), Every: 20 * time.Second,
				Heard: func() map[string]time.Time {
					if speaks {
						heard["north"] = time.Now()
					}
					return heard
				}})
			if err != nil {
				t.Fatal(err)
			}
			ctx, cancel := context.WithTimeout(t.Context(), d)
			defer cancel()
			w.Run(ctx)
		}
		run(10 * time.Minute)
		alarms = []Alarm{{Where: Broker, What: Stuck, Severity: Critical}, {Where: OfBay("north"), What: "skew", Severity: Warning}}
		run(10 * time.Minute)
		alarms = []Alarm{{Where: OfBay("north"), What: "silent", Severity: Critical}, {Where: OfBay("pier"), What: "silent", Severity: Critical}}
		speaks = false
		run(10 * time.Minute)
		alarms = nil
		run(20 * time.Minute) // switched off
		days, err := ReadDays(filepath.Join(dir, "days.json"))
		if err != nil {
			t.Fatal(err)
		}
		near := func(what string, got, want float64) {
			t.Helper()
			if math.Abs(got-want) > 60 { // each start of the watch holds what was wrong for a while, and knows no look before
				t.Errorf("%s: %g s, want %g", what, got, want)
			}
		}
		month := days.Month("north", time.Now().UTC())
		near("north on", month.On, 1800)
		near("north down", month.Down, 600)
		if up, ok := month.Up(); !ok || math.Abs(up-0.667) > 0.05 {
			t.Errorf("up %g, %t", up, ok)
		}
		near("a bay that was never heard", days.Month("pier", time.Now().UTC()).Down, 600)
		if _, ok := days.Month("quay", time.Now()).Up(); ok {
			t.Error("a bay that is not there is up")
		}
		speaks = true
		passes(time.Until(time.Now().UTC().Truncate(24 * time.Hour).Add(24*time.Hour - time.Minute)))
		run(2 * time.Minute)
		if days, err = ReadDays(filepath.Join(dir, "days.json")); err != nil || len(days["north"]) != 2 {
			t.Errorf("%v, %v: want two days", days, err)
		}
		passes(63 * 24 * time.Hour)
		run(time.Minute)
		if days, err = ReadDays(filepath.Join(dir, "days.json")); err != nil || len(days["north"]) != 1 || len(days["pier"]) != 0 {
			t.Errorf("%v, %v: what is older than two months is kept", days, err)
		}
	})
}
