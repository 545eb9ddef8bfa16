package engine

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
)

const binaryName = "fairlead-engine"

// FindBinary looks for the engine's program beside this one and in bin/ of the working directory or one above.
func FindBinary() (string, error) {
	name := binaryName
	if runtime.GOOS == "windows" {
		name += ".exe"
	}
	for _, dir := range starts() {
		if p := filepath.Join(dir, name); isFile(p) {
			return p, nil
		}
	}
	for _, up := range starts() {
		for ; ; up = filepath.Dir(up) {
			if p := filepath.Join(up, "bin", name); isFile(p) {
				return p, nil
			}
			if up == filepath.Dir(up) {
				break
			}
		}
	}
	return "", errors.New("the engine's program " + name + " is not here: run make build")
}

// Build compiles the engine's program into dir and returns its path. It works inside the module's source only
// and is meant for tests, which must not meet a stale binary; Go's build cache makes a repeat cheap.
func Build(ctx context.Context, dir string) (string, error) {
	root, err := moduleRoot(ctx)
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, binaryName)
	cmd := exec.CommandContext(ctx, "go", "build", "-o", path, "./cmd/fairlead-engine")
	cmd.Dir = root
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := cmd.CombinedOutput(); err != nil {
		return "", fmt.Errorf("build the engine's program: %w\n%s", err, out)
	}
	return path, nil
}

func moduleRoot(ctx context.Context) (string, error) {
	out, err := exec.CommandContext(ctx, "go", "env", "GOMOD").Output()
	if err != nil {
		return "", fmt.Errorf("find the module: %w", err)
	}
	mod := strings.TrimSpace(string(out))
	if filepath.Base(mod) != "go.mod" {
		return "", errors.New("find the module: not inside the source of the project")
	}
	return filepath.Dir(mod), nil
}
