package main

import (
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/deploy/release"
	"fairlead/deploy/studio"
	"fairlead/ingest/log/durable"
	"fairlead/processors/hub/store"
)

// left are the studios as releases of before left them, the oldest first;
// testdata/studios/make.sh says what is in each.
func left(t *testing.T) []string {
	t.Helper()
	all, err := filepath.Glob(filepath.Join("..", "..", "testdata", "studios", "*.tar.gz"))
	if err != nil || len(all) == 0 {
		t.Fatalf("no studio of before: %v", err)
	}
	slices.Sort(all)
	return all
}

// unpacked is one of them, at addresses that are free.
func unpacked(t *testing.T, file string) *rig {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command("tar", "-xzf", file, "-C", dir).CombinedOutput(); err != nil {
		t.Fatalf("%s: %v: %s", file, err, out)
	}
	r := &rig{t: t, program: program(t), dir: filepath.Join(dir, "studio"), log: &lockedBuffer{}}
	name := filepath.Join(r.dir, "studio.yaml")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	for _, was := range []string{"127.0.0.1:14222", "127.0.0.1:18123", "127.0.0.1:18080"} {
		free, err := studio.FreeAddress(0)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(text), was) {
			t.Fatalf("%s: nothing listens at %s", file, was)
		}
		text = []byte(strings.Replace(string(text), was, free, 1))
	}
	r.must(os.WriteFile(name, text, 0o644))
	if r.config, err = studio.Load(name); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		r.stop()
		if t.Failed() {
			text := r.log.String()
			t.Logf("the processes said:\n%s", text[max(0, len(text)-6000):])
		}
	})
	return r
}

// open reads a page of the console.
func (r *rig) open(path string) string {
	r.t.Helper()
	answer, err := httpClient.Get("http://" + r.config.Console.Listen + path)
	if err != nil {
		r.t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK {
		r.t.Errorf("%s: %s: %v: %s", path, answer.Status, err, text)
	}
	return string(text)
}

// What a release of before left on its disks, this program opens: it shows what was
// decided and ordered, forgets whom that one forgot, takes what waited in a bay's
// journal and what is hit now, and finds nothing wrong. Each opens the oldest: it
// takes all steps that a later one takes.
func TestAStudioOfBeforeIsOpened(t *testing.T) {
	all := left(t)
	if !proof.Wanted() {
		all = all[:1]
	}
	for _, file := range all {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".tar.gz"), func(t *testing.T) { isOpened(t, unpacked(t, file)) })
	}
}

func isOpened(t *testing.T, r *rig) {
	isRefused(t, r)
	r.start()
	s, err := r.config.OpenStore()
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for trial, n := range map[string]int{"t-own": 6, "t-weak": 6, "t-open": 4, "t-gone": 0} {
		hasShots(t, s, trial, n)
	}
	proof.Until(t, "what waited in pier's journal is stored", func() bool {
		var stored uint64
		err := s.Conn().QueryRow(t.Context(), "SELECT count() FROM entries FINAL WHERE bay = 'pier'").Scan(&stored)
		return err == nil && stored == 3
	})
	names := r.open("/people")
	for name, known := range map[string]bool{"Adalbert Undine": true, "Ottilie Marram": true, "Quillon": false} {
		if strings.Contains(names, name) != known {
			t.Errorf("%s is known: %v", name, !known)
		}
	}
	var ordered []string
	proof.Until(t, "the order is listed", func() bool {
		ordered = regexp.MustCompile(`[A-Z0-9]{3}-[A-Z0-9]{4}`).FindStringSubmatch(r.open("/orders/"))
		return ordered != nil
	})
	if paper := r.open("/orders/" + ordered[0] + "/paper.txt"); !strings.Contains(paper, "8") || !strings.Contains(paper, "34") {
		t.Errorf("the order's paper: %s", paper)
	}
	var visited string
	if err := s.Conn().QueryRow(t.Context(), "SELECT any(visit) FROM trials FINAL WHERE trial = 't-weak'").Scan(&visited); err != nil {
		t.Fatal(err)
	}
	if report := r.open("/reports/" + visited); !strings.Contains(report, "Adalbert Undine") || !strings.Contains(report, "34") {
		t.Errorf("the visit's report: %s", report)
	}

	r.said(0, "", "visit", "open", "--bay", "north", "--player", "Adalbert Undine", "--category", "iron")
	r.said(0, "", "visit", "trial", "--bay", "north", "--trial", "t-now", "--gamer", "--set", "loft=34deg")
	device, err := os.OpenFile(filepath.Join(r.dir, "device", "north.csv"), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	_, err = device.WriteString("901,104.1,147.7,1.5\n902,103.2,146.1,-2.5\n")
	r.must(err)
	r.must(device.Close())
	hasShots(t, s, "t-now", 2)
	r.said(0, "", "audit")
}

// hasShots waits until a trial has that many in the store.
func hasShots(t *testing.T, s *store.Store, trial string, n int) {
	t.Helper()
	proof.Until(t, fmt.Sprintf("%s has %d shots", trial, n), func() bool {
		var stored uint64
		err := s.Conn().QueryRow(t.Context(), "SELECT countIf(trial = ?) FROM shots", trial).Scan(&stored)
		return err == nil && stored == uint64(n)
	})
}

// A bay's PC is brought to another version weeks before its hub, or after it: each
// goes on with the other, while both run and after the hub was away.
func TestABayAndItsHubAreOfTwoVersions(t *testing.T) {
	if !proof.Wanted() {
		t.Skip("needs the programs of before: a campaign of make prove")
	}
	old := before(t)
	for _, of := range []struct{ name, hub, bay string }{{"the bay is older", program(t), old}, {"the hub is older", old, program(t)}} {
		t.Run(of.name, func(t *testing.T) {
			r := newTroubled(t, "var", "", "north")
			r.program = of.hub
			b := r.bay("north", "")
			b.as = nil // it reads only what is its own
			b.start(of.bay)
			r.start()
			s, err := r.config.OpenStore()
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			r.command("visit", "open", "--bay", "north", "--player", "p-7", "--hand", "right", "--category", "iron")
			r.command("visit", "trial", "--bay", "north", "--trial", "t-1", "--gamer", "--set", "loft=34deg")
			of := func(question string) (n uint64) {
				s.Conn().QueryRow(t.Context(), question).Scan(&n) // asked again while the store is away
				return n
			}
			hit, tagged := uint64(0), uint64(0)
			swing := func() {
				hit++
				b.hit(fmt.Sprint(hit, ".csv"), fmt.Sprint(hit, ",118.4"))
			}
			stored := func() {
				proof.Until(t, fmt.Sprint(hit, " shots are stored"), func() bool { return of("SELECT count() FROM entries FINAL") == hit })
			}
			swing()
			stored()
			r.stop()
			swing()
			r.start()
			stored()
			// What is hit before the bay knows the hub's clock is nobody's yet.
			for tagged == 0 && hit < 60 {
				swing()
				stored()
				tagged = of("SELECT countIf(trial = 't-1') FROM shots")
			}
			if tagged == 0 {
				t.Error("no shot came under the trial")
			}
			r.command("audit")
		})
	}
}

// isRefused has a program of later run on the studio: this one touches nothing, and
// says what to do.
func isRefused(t *testing.T, r *rig) {
	t.Helper()
	file := r.config.DataPath("run_by.json")
	was, err := durable.ReadJSON[release.Info](file)
	if was.Schema == 0 { // it did not note itself yet
		was = release.Of()
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, raise := range []func(*release.Info){func(i *release.Info) { i.Schema += 900 }, func(i *release.Info) { i.Contract++ }} {
		later := was
		raise(&later)
		r.must(durable.WriteJSON(file, later))
		before := sums(t, r.config.DataPath())
		_, said := r.said(1, "", "up")
		for _, words := range []string{"newer program", "Nothing was changed", "fairlead restore"} {
			if !strings.Contains(said, words) {
				t.Errorf("of a later program's data it says %q, without %q", said, words)
			}
		}
		if after := sums(t, r.config.DataPath()); !slices.Equal(before, after) {
			t.Error("data of a later program were written to")
		}
	}
	r.must(durable.WriteJSON(file, was))
}

// sums lists the files below a folder with size and time of writing.
func sums(t *testing.T, dir string) (out []string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err == nil && !d.IsDir() {
			out = append(out, fmt.Sprintln(path, info.Size(), info.ModTime().UnixNano()))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
