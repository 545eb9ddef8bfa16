package watch

import (
	"fmt"
	"time"
)

// livesFor is how long a new life of a process is spoken of.
const livesFor = 10 * time.Minute

// Lives notices processes that ended or hung and were started again.
type Lives struct {
	// Fails, if set, says whether a process does not answer now: its new life is told of
	// once it does, since what hangs again is stuck, and told of as that.
	Fails func(process string) bool

	seen  map[string]int         // restarts, by process
	begun map[string][]time.Time // lives that began lately
	told  map[string]bool        // of these processes
}

// Look takes how often each process was started again so far, and lists those
// that were lately. What was before the first look says nothing.
func (l *Lives) Look(restarts map[string]int, now time.Time) (out []Alarm) {
	first := l.seen == nil
	if first {
		l.seen, l.begun, l.told = map[string]int{}, map[string][]time.Time{}, map[string]bool{}
	}
	for name, n := range restarts {
		for range n - l.seen[name] {
			if !first {
				l.begun[name] = append(l.begun[name], now)
			}
		}
		l.seen[name] = n // less than before: `up` itself began anew
		for len(l.begun[name]) > 0 && now.Sub(l.begun[name][0]) > livesFor {
			l.begun[name] = l.begun[name][1:]
		}
		lives := len(l.begun[name])
		if lives == 0 {
			delete(l.told, name)
			continue
		}
		if !l.told[name] && l.Fails != nil && l.Fails(name) {
			continue
		}
		l.told[name] = true
		a := Alarm{Where: name, What: "restarted", Severity: Warning,
			Text: fmt.Sprintf("it ended or hung and was started again %s in the last %s. "+
				"Nothing is lost by that; why stands in `journalctl -u fairlead`, and of one that hung in the folder dumps below the data folder",
				times(lives), livesFor)}
		if lives > 5 {
			a.Severity = Critical
		}
		out = append(out, a)
	}
	return out
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}
