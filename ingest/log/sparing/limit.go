package sparing

import (
	"sync"
	"time"
)

// Limit lets some lines of a kind through at once, then one each so often, and counts
// those that it does not. May be used concurrently.
type Limit[K comparable] struct {
	most time.Duration // that a kind may have in hand: each of its lines costs each
	each time.Duration
	many int       // kinds that are told apart
	rest func(K) K // of which kind one counts where there are too many

	mu     sync.Mutex
	by     map[K]*share
	looked time.Time // for kinds to let go of
}

// share is what a kind may still write.
type share struct {
	left    time.Duration
	at      time.Time
	leftOut uint64
}

// NewLimit makes a limit of so many lines at once, then one each so often, that tells
// so many kinds apart and counts more of them as rest says.
func NewLimit[K comparable](atOnce int, each time.Duration, kinds int, rest func(K) K) *Limit[K] {
	return &Limit[K]{most: time.Duration(atOnce) * each, each: each, many: kinds, rest: rest, by: map[K]*share{}}
}

// Take says whether a line may be written, and how many of its kind were not since the
// last one that was.
func (l *Limit[K]) Take(what K, at time.Time) (leftOut uint64, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	one := l.by[what]
	if one == nil {
		if len(l.by) >= l.many && at.Sub(l.looked) >= l.each {
			l.looked = at
			l.forget(at)
		}
		if len(l.by) >= l.many {
			what = l.rest(what)
		}
		if one = l.by[what]; one == nil {
			one = &share{left: l.most, at: at}
			l.by[what] = one
		}
	}
	if passed := at.Sub(one.at); passed > 0 {
		one.left, one.at = min(l.most, one.left+passed), at
	}
	if one.left < l.each {
		one.leftOut++
		return 0, false
	}
	one.left -= l.each
	leftOut, one.leftOut = one.leftOut, 0
	return leftOut, true
}

// forget lets go of kinds that may write all they want again.
func (l *Limit[K]) forget(at time.Time) {
	for what, one := range l.by {
		if one.leftOut == 0 && one.left+at.Sub(one.at) >= l.most {
			delete(l.by, what)
		}
	}
}
