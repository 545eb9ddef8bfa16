package fleet

import (
	"context"
	"math"
	"testing"
)

// The crossed effects agree with lme4, metafor and a likelihood written down with
// whole matrices; crossed.R made the figures.
func TestCrossedEffectsAgreeWithR(t *testing.T) {
	want := readGoldenFile(t, "crossed_golden.csv")
	trials := CSVColumns{Player: "player", Session: "session", Y: "y", V: "v", Used: []string{"length", "lie"},
		Labels: []string{"build", "studio"}}
	plain := Spec{Fixed: []string{"length", "lie"}, Random: []string{"length", "lie"}, SessionLevel: true}
	builds, studios := plain, plain
	builds.Crossed = []string{"build"}
	studios.Crossed = []string{"build", "studio:length"}
	for _, c := range []struct {
		name, file string
		cols       CSVColumns
		spec       Spec
	}{
		{"penicillin", "penicillin.csv", CSVColumns{Player: "plate", Y: "diameter", Labels: []string{"sample"}},
			Spec{Intercept: true, Random: []string{"1"}, Crossed: []string{"sample"}, Variance: Estimated}},
		{"builds", "crossed.csv", trials, builds},
		{"studios", "crossed.csv", trials, studios},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, _, err := readTable(t, c.file, c.cols).Data(c.spec)
			if err != nil {
				t.Fatal(err)
			}
			f, err := d.Fit(context.Background(), Options{})
			if err != nil {
				t.Fatal(err)
			}
			got := flatten(f)
			for k, v := range want[c.name] {
				g, ok := got[k]
				if !ok {
					t.Errorf("nothing to compare with %s", k)
				} else if math.Abs(g-v) > 1e-4*max(0.1, math.Abs(v)) {
					t.Errorf("%s: %.8g, R says %.8g", k, g, v)
				}
			}
			t.Logf("%d values, %d iterations, %+v", len(want[c.name]), f.Iterations, f.Crossed)
		})
	}
}
