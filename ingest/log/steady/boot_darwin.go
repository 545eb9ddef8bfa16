package steady

import (
	"time"

	"golang.org/x/sys/unix"
)

func bootFacts() []string {
	id, err := unix.Sysctl("kern.bootsessionuuid")
	if err != nil || id == "" || sinceBoot() == 0 {
		return nil
	}
	return []string{"boot", id}
}

// sinceBoot counts sleep too: this system's CLOCK_MONOTONIC does.
func sinceBoot() time.Duration {
	var ts unix.Timespec
	if unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts) != nil {
		return 0
	}
	return time.Duration(ts.Nano())
}
