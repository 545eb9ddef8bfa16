package gate

import (
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// rates bounds how often secrets are tried: of one address, and of one account
// from one address, so that a stranger can't lock anybody out.
type rates struct {
	now func() time.Time
	mu  sync.Mutex
	all map[string]*rate.Limiter
}

const (
	tryEach   = 6 * time.Second // once the burst is used up
	tryBurst  = 8
	mostRates = 10_000
)

func newRates(now func() time.Time) *rates { return &rates{now: now, all: map[string]*rate.Limiter{}} }

// may says whether a secret may be tried now, for all of the keys.
func (r *rates) may(keys ...string) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	now := r.now()
	if len(r.all) > mostRates { // those that have rested are as good as new ones
		for k, l := range r.all {
			if l.TokensAt(now) >= tryBurst {
				delete(r.all, k)
			}
		}
	}
	ok := true
	for _, k := range keys {
		l := r.all[k]
		if l == nil {
			l = rate.NewLimiter(rate.Every(tryEach), tryBurst)
			if len(r.all) <= 2*mostRates {
				r.all[k] = l
			}
		}
		ok = l.AllowN(now, 1) && ok
	}
	return ok
}
