package sink

import (
	"sync"
	"time"
)

// sayEvery is how often one and the same thing is logged.
const sayEvery = 5 * time.Second

// said remembers what was logged lately, so that who can cause a line can't
// cause any number of them. It may be used concurrently.
type said struct {
	mu   sync.Mutex
	last map[string]*repeats
}

type repeats struct {
	at   time.Time
	more int // since then
}

func newSaid() *said { return &said{last: map[string]*repeats{}} }

// again says whether a thing is to be logged now, and how often it happened
// unsaid since the last time.
func (s *said) again(what string, now time.Time) (more int, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	r := s.last[what]
	if r == nil {
		if len(s.last) >= 1000 { // of as many different things nobody reads each
			clear(s.last)
		}
		s.last[what] = &repeats{at: now}
		return 0, true
	}
	if now.Sub(r.at) < sayEvery {
		r.more++
		return 0, false
	}
	more, r.at, r.more = r.more, now, 0
	return more, true
}
