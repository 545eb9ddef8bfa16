package sink

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
)

// Roomy is the heap that a process which tags may use before it looks for
// garbage. What it holds at rest is a tenth of that, and collecting at twice
// that little would cost a backlog a fifth of its processor time.
const Roomy = 256 << 20

// CollectAt lets the process collect garbage when its heap reaches floor bytes,
// or twice what is alive where that is more, as by default. It holds for the
// process, and does nothing where GOGC is set.
func CollectAt(floor uint64) {
	if os.Getenv("GOGC") != "" {
		return
	}
	const least, most = 100, 3000 // percent
	now := 100
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	var adjust func()
	adjust = func() {
		metrics.Read(live)
		alive := max(live[0].Value.Uint64(), 1<<20)
		percent := max(least, min(int(100*floor/alive)-100, most))
		if percent != now {
			debug.SetGCPercent(percent)
			now = percent
		}
		// The next cycle finds this garbage and comes here again.
		runtime.SetFinalizer(new([32]byte), func(*[32]byte) { adjust() })
	}
	adjust()
}
