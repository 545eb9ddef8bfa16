package stream

import (
	"sync"
	"time"
)

const (
	// eachMinute is how often a line that goes on and on is written: who is refused
	// comes again every other second, for as long as nobody does anything about it.
	eachMinute = time.Minute
	// mostKinds of such lines are told apart; more share one.
	mostKinds = 256
)

// seldom lets one line of a kind through a minute, and counts the others.
type seldom struct {
	mu sync.Mutex
	by map[string]*line
}

type line struct {
	at   time.Time // when it was written last
	left int       // not written since
}

// say says whether a line may be written, and how many of its kind were not since the
// last one that was.
func (s *seldom) say(kind string, now time.Time) (left int, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.by == nil {
		s.by = map[string]*line{}
	}
	l := s.by[kind]
	if l == nil && len(s.by) >= mostKinds {
		for k, l := range s.by {
			if now.Sub(l.at) >= eachMinute && l.left == 0 {
				delete(s.by, k)
			}
		}
		if len(s.by) >= mostKinds {
			kind, l = "", s.by[""]
		}
	}
	if l == nil {
		s.by[kind] = &line{at: now}
		return 0, true
	}
	if since := now.Sub(l.at); since >= 0 && since < eachMinute {
		l.left++
		return 0, false
	}
	left, l.left, l.at = l.left, 0, now
	return left, true
}
