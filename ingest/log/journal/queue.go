package journal

import (
	"context"
	"sync"
)

// queue gathers concurrent appends into groups that share one sync. There is no
// goroutine behind it: the first caller writes for all that are waiting, and
// hands that duty to the next in line, so a lone writer pays for no switch.
type queue struct {
	mu      sync.Mutex
	waiting []*request
	led     bool // somebody is writing
}

type request struct {
	recs      []Record
	positions []Position // without a record
	wake      chan struct{}
	lead      bool // woken to write, not because it is done

	first uint64
	err   error
}

// A group is bounded so that one slow write does not hold up everyone.
const maxGroupBytes = 4 << 20

// join waits until the request is done or withdrawn, writing groups when it is
// this caller's turn.
func (q *queue) join(ctx context.Context, r *request, commit func([]*request)) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	q.mu.Lock()
	q.waiting = append(q.waiting, r)
	lead := !q.led
	if lead {
		q.led = true
	} else {
		r.wake = make(chan struct{}, 1)
	}
	q.mu.Unlock()
	if !lead {
		select {
		case <-r.wake:
		case <-ctx.Done():
			if q.withdraw(r) {
				return ctx.Err()
			}
			<-r.wake // being written: its outcome must be known
		}
		if !r.lead {
			return r.err
		}
	}
	group := q.take()
	commit(group)
	q.pass()
	for _, other := range group {
		if other != r {
			other.wake <- struct{}{}
		}
	}
	return r.err
}

// take removes the next group. Its first is the caller's own request.
func (q *queue) take() []*request {
	q.mu.Lock()
	defer q.mu.Unlock()
	n, bytes := 0, 0
	for n < len(q.waiting) && (n == 0 || bytes+q.waiting[n].bytes() <= maxGroupBytes) {
		bytes += q.waiting[n].bytes()
		n++
	}
	group := q.waiting[:n:n]
	q.waiting = q.waiting[n:]
	if len(q.waiting) == 0 {
		q.waiting = nil
	}
	return group
}

// pass lets the next in line write.
func (q *queue) pass() {
	q.mu.Lock()
	defer q.mu.Unlock()
	if len(q.waiting) == 0 {
		q.led = false
		return
	}
	q.waiting[0].lead = true
	q.waiting[0].wake <- struct{}{}
}

// withdraw takes the request out unless it is being written or has to write.
func (q *queue) withdraw(r *request) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	if r.lead {
		return false
	}
	for i, w := range q.waiting {
		if w == r {
			q.waiting = append(q.waiting[:i:i], q.waiting[i+1:]...)
			return true
		}
	}
	return false
}

func (r *request) bytes() int {
	n := 0
	for _, rec := range r.recs {
		n += frameLen + bodyBytes(rec)
	}
	return n + positionBytes(r.positions)
}
