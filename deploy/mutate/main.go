// Command mutate asks how much the tests of a package notice: it makes one small
// change of the source at a time, in a copy that only the compiler sees, and runs
// the package's tests, then those of the packages that rooms.txt names beside it. A
// change that no test notices survives; one that makes no difference to anything is
// listed with the reason in a file of equivalents. Tests that fail as the source
// stands would notice everything: they are run so first, and end it.
//
//	go run ./deploy/mutate -n 40 -seed 1 processors/visit/tag ingest/log/journal
//
// Exit code 1 when a tenth or more of a package's changes survive.
package main

import (
	"bufio"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"time"
)

func main() {
	n := flag.Int("n", 40, "changes to each package, drawn without repetition")
	seed := flag.Uint64("seed", 1, "what is drawn")
	within := flag.Duration("within", 3*time.Minute, "a test run that takes longer has noticed")
	budget := flag.Duration("for", 0, "end each package's sample after this time; 0: when it is whole")
	equivalents := flag.String("equivalents", "testdata/prove/equivalents.txt", "`file` of changes that make no difference")
	out := flag.String("out", "", "`file` for the result, as JSON")
	flag.Parse()
	if err := run(context.Background(), os.Stdout, flag.Args(), *n, *seed, limits{*within, *budget}, *equivalents, *out); err != nil {
		fmt.Fprintln(os.Stderr, "mutate:", err)
		os.Exit(1)
	}
}

// limits are how long one run of the tests may take, and a package's sample in all.
type limits struct{ run, sample time.Duration }

// Result is what became of a package's changes.
type Result struct {
	Package    string   `json:"package"`
	Seed       uint64   `json:"seed"`
	Sites      int      `json:"sites"`
	Noticed    int      `json:"noticed"`
	Refused    int      `json:"refused_by_the_compiler"` // not counted
	Equivalent int      `json:"equivalent"`              // not counted
	Survived   []string `json:"survived"`
}

// share of the changes that could have been noticed and were not.
func (r Result) share() float64 {
	all := r.Noticed + len(r.Survived)
	return float64(len(r.Survived)) / float64(max(all, 1))
}

func run(ctx context.Context, w io.Writer, dirs []string, n int, seed uint64, l limits, equivalents, out string) error {
	same, err := readEquivalents(equivalents)
	if err != nil {
		return err
	}
	var results []Result
	var bad []string
	for _, dir := range dirs {
		dir = filepath.Clean(dir)
		all, err := sites(dir)
		if err != nil {
			return err
		}
		if len(all) == 0 {
			return fmt.Errorf("%s: no source to change: name a package's folder", dir)
		}
		rooms := testsOf(dir)
		if err := unchanged(ctx, rooms, l.run); err != nil {
			return err
		}
		r := Result{Package: filepath.ToSlash(dir), Seed: seed, Sites: len(all), Survived: []string{}}
		ends := time.Now().Add(l.sample)
		rng := rand.New(rand.NewPCG(seed, 0))
		for _, i := range rng.Perm(len(all)) {
			if r.Noticed+len(r.Survived) >= n || l.sample > 0 && time.Now().After(ends) {
				break
			}
			s := all[i]
			if same[s.Key()] {
				r.Equivalent++
				continue
			}
			verdict, err := try(ctx, rooms, s, l.run)
			if err != nil {
				return err
			}
			switch verdict {
			case refused:
				r.Refused++
			case noticed:
				r.Noticed++
			default:
				r.Survived = append(r.Survived, s.Key())
				fmt.Fprintf(w, "survived: %s:%d: %s (%s)\n", s.File, s.Line, s.Source, s.Change)
			}
		}
		fmt.Fprintf(w, "%s: of %d changes %.0f %% survived\n", dir, r.Noticed+len(r.Survived), 100*r.share())
		results = append(results, r)
		if r.share() >= 0.1 {
			bad = append(bad, dir)
		}
	}
	if out != "" {
		text, err := json.MarshalIndent(results, "", "  ")
		if err != nil {
			return err
		}
		if err := os.WriteFile(out, append(text, '\n'), 0o644); err != nil {
			return err
		}
	}
	if len(bad) > 0 {
		return fmt.Errorf("a tenth or more survived in %s: write the tests, or list what makes no difference in %s", strings.Join(bad, ", "),
			equivalents)
	}
	return nil
}

type verdict int

const (
	survived verdict = iota
	noticed
	refused
)

// try runs the tests of some packages with one change, until one notices it.
func try(ctx context.Context, rooms []room, s Site, within time.Duration) (verdict, error) {
	text, err := os.ReadFile(s.File)
	if err != nil {
		return 0, err
	}
	work, err := os.MkdirTemp("", "mutate-*")
	if err != nil {
		return 0, err
	}
	defer os.RemoveAll(work)
	changed := filepath.Join(work, "changed.go")
	if err := os.WriteFile(changed, []byte(string(text[:s.from])+s.text+string(text[s.to:])), 0o600); err != nil {
		return 0, err
	}
	path, err := filepath.Abs(s.File)
	if err != nil {
		return 0, err
	}
	overlay, err := json.Marshal(map[string]map[string]string{"Replace": {path: changed}})
	if err != nil {
		return 0, err
	}
	file := filepath.Join(work, "overlay.json")
	if err := os.WriteFile(file, overlay, 0o600); err != nil {
		return 0, err
	}
	for _, r := range rooms {
		binary := filepath.Join(work, "tests")
		if r.build(ctx, binary, "-overlay", file) != nil {
			return refused, nil
		}
		if r.run(ctx, binary, within) != nil {
			return noticed, nil
		}
	}
	return survived, nil
}

// readEquivalents reads lines of FILE | SOURCE | CHANGE | REASON.
func readEquivalents(path string) (map[string]bool, error) {
	out := map[string]bool{}
	f, err := os.Open(path)
	if os.IsNotExist(err) {
		return out, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	for n := 1; lines.Scan(); n++ {
		line := strings.TrimSpace(lines.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		i := strings.LastIndex(line, " | ")
		if i < 0 || strings.Count(line, " | ") < 3 || len(line[i+3:]) < 10 {
			return nil, fmt.Errorf("%s line %d: write FILE | SOURCE | CHANGE | REASON", path, n)
		}
		out[line[:i]] = true
	}
	return out, lines.Err()
}
