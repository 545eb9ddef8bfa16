package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func feedTry(t *testing.T, stdin string, args ...string) (code int, out, errs string) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code = run(context.Background(), append([]string{"feed", "try"}, args...), strings.NewReader(stdin), &stdout, &stderr)
	return code, stdout.String(), stderr.String()
}

func TestFeedTry(t *testing.T) {
	dir := "../../testdata/feeds/"
	code, out, errs := feedTry(t, "", "--map", dir+"alder.yaml", dir+"alder.csv")
	want, err := os.ReadFile(dir + "alder.shots.ndjson")
	if err != nil {
		t.Fatal(err)
	}
	if code != 0 || out != string(want) {
		t.Errorf("exit %d, shots\n%s\nwant\n%s", code, out, want)
	}
	for _, says := range []string{`alder.csv:7: column "Ball mph" (ball_speed): "11B,0"`, "5 shots, 7 lines rejected, 3 lines skipped"} {
		if !strings.Contains(errs, says) {
			t.Errorf("rejects do not say %q:\n%s", says, errs)
		}
	}

	data, err := os.ReadFile(dir + "brook.ndjson")
	if err != nil {
		t.Fatal(err)
	}
	code, _, errs = feedTry(t, string(data), "--map", dir+"brook.yaml", "--strict", "--json", "-")
	if code != 1 {
		t.Errorf("--strict with rejects: exit %d", code)
	}
	for line := range strings.Lines(errs) {
		if !json.Valid([]byte(line)) {
			t.Errorf("--json writes %q", line)
		}
	}
}

func TestFeedTryRefuses(t *testing.T) {
	bad := filepath.Join(t.TempDir(), "bad.yaml")
	if err := os.WriteFile(bad, []byte("map: 1\ndevice: alder\nrole: ball\nformat: csv\nfields:\n  carry: {column: Carry, unit: mph}\n"),
		0o600); err != nil {
		t.Fatal(err)
	}
	data := "../../testdata/feeds/alder.csv"
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"--map", bad, data}, 2, `bad.yaml:6: fields.carry.unit: "mph" is not a unit of length`},
		{[]string{"--map", "absent.yaml", data}, 2, "absent.yaml"},
		{[]string{data}, 2, "--map"},
		{[]string{"--map", "../../testdata/feeds/alder.yaml", "--nope", data}, 2, "nope"},
		{[]string{"--map", "../../testdata/feeds/alder.yaml"}, 2, "give one file or more"},
		{[]string{"--map", "../../testdata/feeds/alder.yaml", "absent.csv"}, 1, "absent.csv"},
	} {
		code, out, errs := feedTry(t, "", c.args...)
		if code != c.code || out != "" || !strings.Contains(errs, c.says) || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: exit %d, out %q, errors %q; want exit %d and one line with %q", c.args, code, out, errs, c.code, c.says)
		}
	}
}

func TestFeedNeedsAKnownCommand(t *testing.T) {
	var stdout, stderr bytes.Buffer
	if code := run(context.Background(), []string{"feed", "tri"}, strings.NewReader(""), &stdout, &stderr); code != 2 ||
		!strings.Contains(stderr.String(), `"tri"`) {
		t.Errorf("exit %d, %s", code, stderr.String())
	}
	if code, _, errs := feedTry(t, "title\n", "--map", "../../testdata/feeds/dune.yaml", "-"); code != 1 ||
		!strings.Contains(errs, "no line was read as data") {
		t.Errorf("nothing read: exit %d, %s", code, errs)
	}
}

// TestFeedTrySeveral reads a folder of three sessions whose shots have the same
// numbers, and one file twice.
func TestFeedTrySeveral(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	m := filepath.Join(t.TempDir(), "m.yaml")
	if err := os.WriteFile(m, []byte("map: 1\ndevice: alder\nrole: ball\nformat: csv\nshot_id: {column: No}\nfields:\n  ball_speed: "+
		"{column: Ball, unit: m/s}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	first := write("one.csv", "No,Ball\n1,50\n2,51\n")
	write("two.csv", "No,Ball\n1,60\n2,61\n2,61.5\n")
	write("three.csv", "No,Ball\n1,70\n2,71\n")
	code, out, errs := feedTry(t, "", "--map", m, dir, first)
	if code != 0 || strings.Count(out, "\n") != 9 {
		t.Errorf("exit %d, %s", code, out)
	}
	for _, says := range []string{"6 distinct shots, 1 revisions, 2 repeats", "4 shots have a number that an earlier shot has"} {
		if !strings.Contains(errs, says) {
			t.Errorf("does not say %q: %s", says, errs)
		}
	}
}
