package process

import (
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"
	"syscall"
)

// ownerOf names a process in the leases: its machine, where process ids are
// counted (a container counts its own), and its process id.
func ownerOf(host string, pid int) string { return fmt.Sprintf("%s%d", here(host), pid) }

func here(host string) string {
	space, err := os.Readlink("/proc/self/ns/pid")
	if err != nil {
		return ""
	}
	return host + "-" + strings.Trim(strings.TrimPrefix(space, "pid:"), "[]") + "-"
}

// dead says whether an owner was a process of this machine that has ended: a
// process that is started again after a crash has its bays at once.
func dead(host, owner string) bool {
	prefix := here(host)
	number, ours := strings.CutPrefix(owner, prefix)
	pid, err := strconv.Atoi(number)
	if prefix == "" || !ours || err != nil || pid <= 0 || pid == os.Getpid() {
		return false
	}
	return errors.Is(syscall.Kill(pid, 0), syscall.ESRCH)
}
