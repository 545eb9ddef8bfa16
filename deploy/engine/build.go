package engine

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/gofrs/flock"
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

// Build compiles the engine's program from the source around the working directory into the user's cache and
// returns its path. It is for tests, which must not meet a stale binary; FAIRLEAD_BIN names the folder of
// programs that whoever runs them has just built. Go relinks only what changed.
func Build(ctx context.Context) (string, error) {
	raced := race && os.Getenv("FAIRLEAD_PROVE") == "1"
	if dir := os.Getenv("FAIRLEAD_BIN"); dir != "" && !raced {
		if path := filepath.Join(dir, binaryName); isFile(path) {
			return path, nil
		}
		return "", fmt.Errorf("FAIRLEAD_BIN=%s holds no %s: run make build, or unset it", dir, binaryName)
	}
	root, err := moduleRoot(ctx)
	if err != nil {
		return "", err
	}
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = os.TempDir()
	}
	// Every checkout has its own, or two of them would build in turns.
	sum := fnv.New64a()
	sum.Write([]byte(root))
	dir := filepath.Join(cache, "fairlead-test", fmt.Sprintf("%x", sum.Sum64()))
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", fmt.Errorf("build the engine's program: %w", err)
	}
	// go test runs packages side by side; each may want to build.
	lock := flock.New(filepath.Join(dir, "lock"))
	if err := lock.Lock(); err != nil {
		return "", fmt.Errorf("build the engine's program: %w", err)
	}
	defer lock.Unlock()
	path := filepath.Join(dir, binaryName)
	args, env := []string{"build"}, append(os.Environ(), "CGO_ENABLED=0")
	if raced {
		// The full proof has the engine under the race detector as well; it is several times slower to start.
		path += "-race"
		args, env = append(args, "-race"), append(os.Environ(), "CGO_ENABLED=1")
	}
	cmd := exec.CommandContext(ctx, "go", append(args, "-o", path, "./cmd/fairlead-engine")...)
	cmd.Dir, cmd.Env = root, env
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
