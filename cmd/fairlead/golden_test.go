package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// What the program prints is kept below testdata/golden: the help of every
// command, and each command line of lines.txt with its exit code, output, words
// on standard error and the files that it wrote. FAIRLEAD_GOLDEN=write records
// them anew, by the program that FAIRLEAD_GOLDEN_PROGRAM names where it names one.

// asProgram is set where the test binary stands for the program in a shell line.
const asProgram = "FAIRLEAD_TEST_AS_PROGRAM"

func TestGoldenOutputs(t *testing.T) {
	t.Chdir(filepath.Join("..", ".."))
	t.Setenv("FAIRLEAD_CLICKHOUSE", "")
	program := os.Getenv("FAIRLEAD_GOLDEN_PROGRAM")
	if program == "" {
		self, err := os.Executable()
		if err != nil {
			t.Fatal(err)
		}
		program = self
	}
	bin := t.TempDir()
	if err := os.Symlink(program, filepath.Join(bin, "fairlead")); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join("testdata", "golden")
	text, err := os.ReadFile(filepath.Join(dir, "lines.txt"))
	if err != nil {
		t.Fatal(err)
	}
	kept := map[string]bool{"lines.txt": true}
	check := func(name, line string) {
		kept[name] = true
		got := ""
		if out := t.TempDir(); strings.ContainsAny(line, shellSigns) {
			got = said(t.Context(), bin, out, line)
		} else {
			got = saidHere(t.Context(), out, line)
		}
		file := filepath.Join(dir, name)
		if os.Getenv("FAIRLEAD_GOLDEN") == "write" {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			return
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Errorf("%s: %v: record it with FAIRLEAD_GOLDEN=write", line, err)
			return
		}
		if diff := firstDifference(string(want), got); diff != "" {
			t.Errorf("%s prints other than %s says: %s", line, file, diff)
		}
	}
	for _, path := range commandPaths(newRoot(), nil) {
		check(strings.Join(append([]string{"help"}, path...), "-")+".txt", strings.Join(append([]string{"fairlead"}, path...), " ")+" --help")
	}
	for _, line := range strings.Split(string(text), "\n") {
		if name, rest, ok := strings.Cut(line, ": "); ok && !strings.HasPrefix(line, "#") {
			check(name+".txt", rest)
		}
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !kept[f.Name()] {
			t.Errorf("%s belongs to no command and no line: remove it", filepath.Join(dir, f.Name()))
		}
	}
}

// commandPaths names every command of the tree, the root as nothing.
func commandPaths(c *cobra.Command, at []string) [][]string {
	out := [][]string{at}
	for _, child := range c.Commands() {
		if !child.Hidden && child.Name() != "help" {
			out = append(out, commandPaths(child, append(slices.Clone(at), child.Name()))...)
		}
	}
	return out
}

// shellSigns stand in a line that needs a shell. To start the program for each of
// the others would take half a minute of processor time.
const shellSigns = "|<>;&$()[]{}*?~'\"\\`#"

// saidHere is said for a plain line, run by this process.
func saidHere(ctx context.Context, out, line string) string {
	var stdout, stderr bytes.Buffer
	code := run(ctx, strings.Fields(line)[1:], strings.NewReader(""), &stdout, &stderr)
	return seen(out, line, code, &stdout, &stderr)
}

// said runs a shell line and returns all that can be seen of it. $OUT is an
// empty folder, whose files are part of what is returned.
func said(ctx context.Context, bin, out, line string) string {
	cmd := exec.CommandContext(ctx, "bash", "-c", line)
	cmd.Env = append(os.Environ(), asProgram+"=1", "PATH="+bin+":"+os.Getenv("PATH"), "OUT="+out)
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	code := 0
	var exit *exec.ExitError
	if err := cmd.Run(); errors.As(err, &exit) {
		code = exit.ExitCode()
	} else if err != nil {
		return err.Error()
	}
	return seen(out, line, code, &stdout, &stderr)
}

func seen(out, line string, code int, stdout, stderr *bytes.Buffer) string {
	var b strings.Builder
	fmt.Fprintf(&b, "$ %s\nexit %d\n%s", line, code, stdout)
	if stderr.Len() > 0 {
		fmt.Fprintf(&b, "--- standard error\n%s", stderr)
	}
	files, _ := filepath.Glob(filepath.Join(out, "*"))
	for _, f := range files {
		text, err := os.ReadFile(f)
		if bytes.HasPrefix(text, []byte("<svg ")) {
			text = []byte("a picture\n") // the room that draws has tests of what is drawn
		}
		fmt.Fprintf(&b, "--- %s\n%s", filepath.Base(f), text)
		if err != nil {
			fmt.Fprintln(&b, err)
		}
	}
	return strings.ReplaceAll(b.String(), out, "$OUT")
}

var goldenNumber = regexp.MustCompile(`\d+(\.\d+)?(e[-+]?\d+)?`)

// firstDifference compares two texts line by line. Numbers may differ in their
// ninth digit, as those of processors with and without fused multiplication do.
func firstDifference(want, got string) string {
	a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range max(len(a), len(b)) {
		if i >= len(a) || i >= len(b) {
			return fmt.Sprintf("%d lines, not %d", len(b), len(a))
		}
		if a[i] == b[i] {
			continue
		}
		near := goldenNumber.ReplaceAllString(a[i], "#") == goldenNumber.ReplaceAllString(b[i], "#")
		x, y := goldenNumber.FindAllString(a[i], -1), goldenNumber.FindAllString(b[i], -1)
		for j := 0; near && j < len(x); j++ {
			u, _ := strconv.ParseFloat(x[j], 64)
			v, _ := strconv.ParseFloat(y[j], 64)
			near = math.Abs(u-v) <= 1e-9*(1+math.Abs(u))
		}
		if !near {
			return fmt.Sprintf("line %d: %q, not %q", i+1, b[i], a[i])
		}
	}
	return ""
}
