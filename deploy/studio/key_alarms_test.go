package studio

import (
	"testing"
	"time"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/health"
	"fairlead/processors/hub/watch"
)

// A bay that goes by a secret which ended is cut off a moment later, and may speak
// just then: that is no word of one that has the new secret.
func TestASecretThatEndedIsNotTheBaysPC(t *testing.T) {
	for name, c := range map[string]struct {
		last, now time.Duration // since the old secret ended
		want      string
	}{
		"just ended":                     {-3 * time.Second, 5 * time.Second, ""},
		"and it is quiet":                {-3 * time.Second, 16 * time.Second, watch.Expired},
		"it spoke before it was cut off": {2 * time.Second, 18 * time.Second, watch.Expired},
		"it has the new one":             {15 * time.Second, 20 * time.Second, ""},
		"it has, and is switched off":    {15 * time.Second, time.Hour, ""},
	} {
		conf := made(t, "")
		if err := conf.EnsureKeys(quiet); err != nil {
			t.Fatal(err)
		}
		until := time.Now().Add(time.Minute)
		if err := conf.Keyring().Rotate(stream.BayCredential("north"), until); err != nil {
			t.Fatal(err)
		}
		now := until.Add(c.now)
		bays := health.New(conf.Places(), func() time.Time { return now }, quiet)
		bays.Recall(conf.Studio, map[string]time.Time{"north": until.Add(c.last)})
		got := ""
		for _, a := range conf.keyAlarms(bays, now) {
			got += a.What
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}
