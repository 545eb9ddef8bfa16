package journal

import (
	"fmt"
	"os"
	"runtime"
	"testing"
)

// leftOut says that a test did not run, so that nobody takes it for passed.
func leftOut(t *testing.T, why string) {
	t.Helper()
	s := fmt.Sprintf("*** LEFT OUT: %s: %s ***", t.Name(), why)
	if os.Getenv("FAIRLEAD_REQUIRE_ROOT_TESTS") == "1" {
		t.Fatal(s)
	}
	t.Log(s)
	fmt.Fprintln(os.Stderr, s)
}

// isRoot is true where file systems can be mounted.
func isRoot(t *testing.T) bool {
	t.Helper()
	if runtime.GOOS != "linux" || os.Geteuid() != 0 {
		leftOut(t, "it mounts file systems, which needs Linux and root")
		return false
	}
	return true
}
