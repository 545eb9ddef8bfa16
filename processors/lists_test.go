package processors_test

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var testNames = regexp.MustCompile(`(?m)^func (Test\w+)\(t \*testing\.T\)`)

// deploy/test.sh runs the tests of race.txt's packages under the race detector, but for
// those that unraced.txt names, which it runs without. A name that is not there, or
// there twice, would leave a test out of both.
func TestEachTestIsRunWithOrWithoutTheRaceDetector(t *testing.T) {
	packages := strings.Fields(read(t, "../deploy/race.txt"))
	of := map[string][]string{} // packages by test
	for _, p := range packages {
		folder, below := strings.CutSuffix(p, "/...")
		if files, err := filepath.Glob(filepath.Join("..", folder, "*_test.go")); err != nil || len(files) == 0 && !below {
			t.Errorf("race.txt: %s has no tests", p)
		} else {
			for _, f := range files {
				for _, m := range testNames.FindAllStringSubmatch(read(t, f), -1) {
					of[m[1]] = append(of[m[1]], folder)
				}
			}
		}
	}
	listed := 0
	for line := range strings.Lines(read(t, "../deploy/unraced.txt")) {
		if strings.HasPrefix(line, "#") || strings.TrimSpace(line) == "" {
			continue
		}
		listed++
		f := strings.Fields(line)
		if len(f) != 3 || !slices.Contains([]string{"keys", "computes", "slow"}, f[2]) {
			t.Errorf("unraced.txt: %q is not PACKAGE TEST and keys, computes or slow", line)
		} else if got := of[f[1]]; len(got) != 1 || got[0] != f[0] {
			t.Errorf("unraced.txt: %s of %s: found in %v of race.txt; its name must be there once", f[1], f[0], got)
		}
	}
	if listed == 0 || len(of) < 100 {
		t.Errorf("%d names listed, %d tests found", listed, len(of))
	}
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
