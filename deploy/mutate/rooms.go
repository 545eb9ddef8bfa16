package main

import (
	"bytes"
	"context"
	_ "embed"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// beside says which packages' tests hold a room besides its own: a room on a line,
// and the packages in the order in which they are asked, the quickest first.
//
//go:embed rooms.txt
var beside string

// room is the folder of a package whose tests are asked.
type room string

// testsOf are the rooms whose tests hold what stands in a package, itself first.
func testsOf(dir string) []room {
	out := []room{room(filepath.ToSlash(dir))}
	for line := range strings.Lines(beside) {
		if f := strings.Fields(line); len(f) > 1 && f[0] == string(out[0]) {
			for _, d := range f[1:] {
				out = append(out, room(d))
			}
		}
	}
	return out
}

func (r room) build(ctx context.Context, binary string, more ...string) error {
	args := append([]string{"test", "-c", "-vet=off"}, more...)
	return exec.CommandContext(ctx, "go", append(args, "-o", binary, "./"+string(r))...).Run()
}

// run ends with an error where a test fails or takes too long. What a property finds
// is of a changed source, and not kept.
func (r room) run(ctx context.Context, binary string, within time.Duration) error {
	ctx, cancel := context.WithTimeout(ctx, within)
	defer cancel()
	cmd := exec.CommandContext(ctx, binary, "-test.failfast", "-test.timeout", within.String())
	cmd.Env = append(os.Environ(), "RAPID_NOFAILFILE=1")
	cmd.Dir, cmd.WaitDelay = string(r), 5*time.Second
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	if err := cmd.Run(); err != nil {
		text := said.Bytes()
		return fmt.Errorf("%w: %s", err, text[max(0, len(text)-2000):])
	}
	return nil
}

// unchanged runs the tests on the source as it is.
func unchanged(ctx context.Context, rooms []room, within time.Duration) error {
	work, err := os.MkdirTemp("", "mutate-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	for _, r := range rooms {
		binary := filepath.Join(work, "tests")
		if err := r.build(ctx, binary); err != nil {
			return fmt.Errorf("%s: the tests do not build: %w", r, err)
		}
		if err := r.run(ctx, binary, within); err != nil {
			return fmt.Errorf("%s: the tests fail without any change, so they would notice everything: make test ROOM=%s (%w)", r, r, err)
		}
	}
	return nil
}
