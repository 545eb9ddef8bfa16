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

var functions = regexp.MustCompile(`(?ms)^func (\w+)\(.*?^}`)

// A reload of keys beside clients that come and go is a race within nats-server, which
// the detector tells of now and then: each test that has a keyring watched, itself or by
// a helper, is run without it.
func TestWhoWatchesKeysIsNotRaced(t *testing.T) {
	files, err := filepath.Glob("../ingest/log/stream/*_test.go")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	bodies := map[string]string{}
	for _, f := range files {
		for _, m := range functions.FindAllStringSubmatch(read(t, f), -1) {
			bodies[m[1]] = m[0]
		}
	}
	calls := []string{"WatchKeys("}
	for name, body := range bodies {
		if !strings.HasPrefix(name, "Test") && strings.Contains(body, "WatchKeys(") {
			calls = append(calls, " "+name+"(t")
		}
	}
	listed, found := read(t, "../deploy/unraced.txt"), 0
	for name, body := range bodies {
		if !strings.HasPrefix(name, "Test") || !slices.ContainsFunc(calls, func(c string) bool { return strings.Contains(body, c) }) {
			continue
		}
		found++
		if !strings.Contains(listed, "./ingest/log/stream "+name+" keys\n") {
			t.Errorf("%s has keys watched and is not in deploy/unraced.txt as one of keys", name)
		}
	}
	if found < 5 {
		t.Errorf("found %d tests that have keys watched: is the reading right?", found)
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
