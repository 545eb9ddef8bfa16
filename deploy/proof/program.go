package proof

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// Program is one of the project's programs, for a test to run: of the folder that
// FAIRLEAD_BIN names, which whoever runs the tests has just built, or a fresh one.
func Program(t testing.TB, name string) string {
	t.Helper()
	if dir := os.Getenv("FAIRLEAD_BIN"); dir != "" {
		return filepath.Join(dir, name)
	}
	path := filepath.Join(t.TempDir(), name)
	build := exec.CommandContext(t.Context(), "go", "build", "-o", path, "fairlead/cmd/"+name)
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build %s: %v\n%s", name, err, out)
	}
	return path
}
