package steady

import (
	"os"
	"strings"
	"time"

	"golang.org/x/sys/unix"
)

// bootFacts are the boot's id and the time namespace, in which the time since
// the boot may be another one.
func bootFacts() []string {
	id, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	if err != nil || sinceBoot() == 0 {
		return nil
	}
	space, _ := os.Readlink("/proc/self/ns/time")
	return []string{"boot", strings.TrimSpace(string(id)), space}
}

// sinceBoot counts sleep too.
func sinceBoot() time.Duration {
	var ts unix.Timespec
	if unix.ClockGettime(unix.CLOCK_BOOTTIME, &ts) != nil {
		return 0
	}
	return time.Duration(ts.Nano())
}
