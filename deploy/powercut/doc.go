// Package powercut gives tests a disk whose power can be cut, and disks that
// fill up. It needs Linux and root, because it mounts file systems; elsewhere
// it says loudly that a test was left out, and fails the test when
// FAIRLEAD_REQUIRE_ROOT_TESTS=1 says that none may be.
//
// A cut works without special hardware: the disk is an ext4 in a file, mounted
// so that it writes nothing out by itself, and an ioctl shuts it down as it
// stands. What was synced is there after the next mount, what was not is gone.
package powercut

import (
	"fmt"
	"os"
	"runtime"
	"testing"
)

// Possible says whether file systems can be mounted here. Where they can't it
// says that the test was left out; the test then returns.
func Possible(t testing.TB) bool {
	t.Helper()
	if runtime.GOOS == "linux" && os.Geteuid() == 0 {
		return true
	}
	s := fmt.Sprintf("*** LEFT OUT: %s: it mounts file systems, which needs Linux and root ***", t.Name())
	if os.Getenv("FAIRLEAD_REQUIRE_ROOT_TESTS") == "1" {
		t.Fatal(s)
	}
	t.Log(s)
	fmt.Fprintln(os.Stderr, s)
	return false
}
