package steady

import (
	"strconv"
	"time"

	"golang.org/x/sys/windows"
	"golang.org/x/sys/windows/registry"
)

// bootFacts is the number that Windows gives its boots. A 'fast start' wakes
// what slept instead: the count of time goes on then too.
func bootFacts() []string {
	const path = `SYSTEM\CurrentControlSet\Control\Session Manager\Memory Management\PrefetchParameters`
	key, err := registry.OpenKey(registry.LOCAL_MACHINE, path, registry.QUERY_VALUE|registry.WOW64_64KEY)
	if err != nil {
		return nil
	}
	defer key.Close()
	n, _, err := key.GetIntegerValue("BootId")
	if err != nil {
		return nil
	}
	return []string{"boot", strconv.FormatUint(n, 10)}
}

// sinceBoot counts sleep too. It moves on in steps of some 15 ms.
func sinceBoot() time.Duration { return windows.DurationSinceBoot() }
