// Package proof is what the tests of all rooms have in common: how they wait, how
// many cases they run, which seed draws them, and where a campaign's result is
// kept. `make test` runs few cases of seeds that never change, so that it says the
// same of the same source each time; `make prove` (FAIRLEAD_PROVE=1) runs the full
// campaigns on seeds of its own, which it prints. FAIRLEAD_SEED=N repeats one.
package proof

import (
	"encoding/json"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// Wanted says whether the full campaigns were asked for.
func Wanted() bool { return os.Getenv("FAIRLEAD_PROVE") == "1" }

// Cases is how many cases to run: few in `make test`, all in `make prove`.
func Cases[N int | uint64](few, all N) N {
	if Wanted() {
		return all
	}
	return few
}

// drawn is this run's own seed, of `make prove` or of FAIRLEAD_SEED; 0: none.
var drawn = seedOfRun(os.Getenv("FAIRLEAD_SEED"))

func seedOfRun(asked string) uint64 {
	if n, err := strconv.ParseUint(asked, 10, 63); err == nil && n > 0 {
		return n
	}
	if asked != "" {
		panic("FAIRLEAD_SEED=" + asked + ": write a whole number above 0, as a run printed it")
	}
	if Wanted() {
		return rand.Uint64N(1<<32) + 1
	}
	return 0
}

// Seed is the seed of a test that draws its cases: the one given in `make test`,
// this run's own in `make prove`, which the test then says.
func Seed(t testing.TB, fixed uint64) uint64 {
	t.Helper()
	if drawn == 0 {
		return fixed
	}
	t.Logf("FAIRLEAD_SEED=%d", drawn)
	return drawn
}

// The seed of properties is set before the command line is read, which may name
// another by -rapid.seed.
func init() { flag.Set("rapid.seed", strconv.FormatUint(max(drawn, 1), 10)) }

// Check is rapid.Check with a seed as Seed has it. What fails is kept below the
// package's testdata/rapid and tried first from then on: add it to the repository.
func Check(t *testing.T, property func(*rapid.T)) {
	t.Helper()
	Seed(t, 1)
	rapid.Check(t, property)
}

// Record keeps a campaign's result in testdata/prove, when proving.
func Record(t testing.TB, name string, result any) {
	t.Helper()
	if !Wanted() {
		return
	}
	dir, err := results()
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.MarshalIndent(result, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".json"), append(text, '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
}

// RecordRow keeps a row of a campaign that is a table, when proving: rows of other
// runs stay.
func RecordRow(t testing.TB, name, key string, row any) {
	t.Helper()
	if !Wanted() {
		return
	}
	dir, err := results()
	if err != nil {
		t.Fatal(err)
	}
	table := map[string]any{}
	if text, err := os.ReadFile(filepath.Join(dir, name+".json")); err == nil {
		if err := json.Unmarshal(text, &table); err != nil {
			t.Fatalf("%s.json: %v", name, err)
		}
	}
	table[key] = row
	Record(t, name, table)
}

// results is the folder of results, from whichever package's folder a test runs in.
func results() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for up := dir; ; up = filepath.Dir(up) {
		if _, err := os.Stat(filepath.Join(up, "go.mod")); err == nil {
			dir = filepath.Join(up, "testdata", "prove")
			return dir, os.MkdirAll(dir, 0o755)
		}
		if up == filepath.Dir(up) {
			return "", os.ErrNotExist
		}
	}
}
