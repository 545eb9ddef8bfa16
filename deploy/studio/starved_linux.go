package studio

import (
	"bytes"
	"fmt"
	"os"
	"strconv"
	"time"
)

// starving tells how long a process wanted to run and could not: its threads waited
// for a processor, or for the disk.
type starving struct {
	pid     int
	threads map[string]threadTimes // as last looked at
}

// threadTimes are a thread's time on a processor and, up to its last turn, in the
// queue of one; and what it does: R runs or wants to, D stands in the kernel.
type threadTimes struct {
	ran, queued time.Duration
	state       byte
}

// since is how long the thread that waited most could not run since the last call, at
// most elapsed. A process that is stopped, or whose threads wait for one another,
// waits for no processor. The first call knows of nothing before.
func (s *starving) since(elapsed time.Duration) time.Duration {
	dir := fmt.Sprintf("/proc/%d/task", s.pid)
	found, err := os.ReadDir(dir)
	if err != nil {
		return 0
	}
	threads := make(map[string]threadTimes, len(found))
	most := time.Duration(0)
	for _, t := range found {
		is, ok := readTimes(dir + "/" + t.Name())
		if !ok {
			continue // it ended, or this kernel does not say
		}
		threads[t.Name()] = is
		was, known := s.threads[t.Name()]
		if !known {
			continue
		}
		most = max(most, is.queued-was.queued)
		if is.state == was.state { // its turn in the queue is not over, and not in queued
			switch is.state {
			case 'R':
				most = max(most, elapsed-(is.ran-was.ran))
			case 'D':
				most = elapsed
			}
		}
	}
	s.threads = threads
	return min(most, elapsed)
}

func readTimes(dir string) (t threadTimes, ok bool) {
	text, err := os.ReadFile(dir + "/schedstat") // ns on a processor, ns in its queue, turns
	if err != nil {
		return t, false
	}
	f := bytes.Fields(text)
	if len(f) != 3 {
		return t, false
	}
	ran, err1 := strconv.ParseInt(string(f[0]), 10, 64)
	queued, err2 := strconv.ParseInt(string(f[1]), 10, 64)
	stat, err3 := os.ReadFile(dir + "/stat")
	end := bytes.LastIndexByte(stat, ')') // of the name, which may hold anything
	if err1 != nil || err2 != nil || err3 != nil || end < 0 || end+2 >= len(stat) {
		return t, false
	}
	return threadTimes{time.Duration(ran), time.Duration(queued), stat[end+2]}, true
}
