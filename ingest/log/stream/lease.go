package stream

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nats-io/nats.go/jetstream"
)

// leaseTTL is how long a bay stays with a tagger that no longer renews.
const leaseTTL = 6 * time.Second

// Lease is one bay held by one owner.
type Lease struct {
	kv       jetstream.KeyValue
	key      string
	owner    string
	revision uint64
	unsure   bool // a renewal got no answer: it may have been taken all the same
}

// ErrLeased says that another owner holds the bay.
var ErrLeased = errors.New("another owner holds the lease")

// Acquire takes the lease of a bay, or returns ErrLeased. An owner that comes
// back within the lease's life under the same name takes its own lease again.
func Acquire(ctx context.Context, js jetstream.JetStream, place Place, owner string) (*Lease, error) {
	kv, err := js.KeyValue(ctx, Leases)
	if err != nil {
		return nil, fmt.Errorf("lease of %s: %w", place, err)
	}
	l := &Lease{kv: kv, key: place.String(), owner: owner}
	l.revision, err = kv.Create(ctx, l.key, []byte(owner))
	if err == nil {
		return l, nil
	}
	if !errors.Is(err, jetstream.ErrKeyExists) {
		return nil, fmt.Errorf("lease of %s: %w", place, err)
	}
	held, err := kv.Get(ctx, l.key)
	if errors.Is(err, jetstream.ErrKeyNotFound) {
		return nil, ErrLeased // gone between the two calls: the next try gets it
	}
	if err != nil {
		return nil, fmt.Errorf("lease of %s: %w", place, err)
	}
	if string(held.Value()) != owner {
		return nil, ErrLeased
	}
	l.revision = held.Revision()
	return l, l.Renew(ctx)
}

// Renew keeps the lease; ErrLeased says that it was lost.
func (l *Lease) Renew(ctx context.Context) error {
	revision, err := l.kv.Update(ctx, l.key, []byte(l.owner), l.revision)
	var api jetstream.JetStreamError
	if errors.As(err, &api) && api.APIError() != nil && api.APIError().ErrorCode == jetstream.JSErrCodeStreamWrongLastSequence {
		return ErrLeased
	}
	if err != nil {
		l.unsure = true
		return fmt.Errorf("renew lease of %s: %w", l.key, err)
	}
	l.revision, l.unsure = revision, false
	return nil
}

// again takes a lease that ran out, where nobody else did, or one that was renewed
// though the answer to that was lost.
func (l *Lease) again(ctx context.Context) error {
	revision, err := l.kv.Create(ctx, l.key, []byte(l.owner))
	if errors.Is(err, jetstream.ErrKeyExists) {
		return l.own(ctx)
	}
	if err != nil {
		l.unsure = true
		return fmt.Errorf("renew lease of %s: %w", l.key, err)
	}
	l.revision, l.unsure = revision, false
	return nil
}

// own goes on with a lease that another has, if that is ourselves: a renewal that got
// no answer was taken.
func (l *Lease) own(ctx context.Context) error {
	if !l.unsure {
		return ErrLeased
	}
	held, err := l.kv.Get(ctx, l.key)
	if err != nil {
		return fmt.Errorf("renew lease of %s: %w", l.key, err)
	}
	if string(held.Value()) != l.owner {
		return ErrLeased
	}
	l.revision = held.Revision()
	if err := l.Renew(ctx); errors.Is(err, ErrLeased) {
		return fmt.Errorf("renew lease of %s: the node that told of it lags behind", l.key) // and is asked again
	} else if err != nil {
		return err
	}
	return nil
}

// Release gives the bay back.
func (l *Lease) Release(ctx context.Context) error {
	return l.kv.Delete(ctx, l.key, jetstream.LastRevision(l.revision))
}

// ErrLost is the cause of the end of a context from Keep when the lease was lost.
var ErrLost = errors.New("the lease was lost")

const (
	renewEvery = 1500 * time.Millisecond
	// trustFor is how long a lease that can't be renewed is held on to. While the
	// broker is away others can't take it either; after a while, begin anew rather
	// than trust what is held.
	trustFor = time.Minute
)

// Keep renews the lease beside the caller. The context it returns ends with
// ctx, and when the lease is lost or the broker is away for a minute; its cause
// says which. release ends it, waits for the renewing to end, and frees the
// lease: it is in one hand at a time.
func (l *Lease) Keep(ctx context.Context) (held context.Context, release func()) {
	held, cancel := context.WithCancelCause(ctx)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		renewed := time.Now()
		for {
			select {
			case <-held.Done():
				return
			case <-time.After(renewEvery):
			}
			err := l.Renew(held)
			if errors.Is(err, ErrLeased) { // or nobody's: it ran out while the broker chose a leader
				err = l.again(held)
			}
			switch {
			case err == nil:
				renewed = time.Now()
			case errors.Is(err, ErrLeased):
				cancel(ErrLost)
				return
			case time.Since(renewed) > trustFor:
				cancel(fmt.Errorf("%w: not renewed for %v: %w", ErrLost, trustFor, err))
				return
			}
		}
	}()
	return held, func() {
		cancel(nil)
		<-ended
		free, stop := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer stop()
		l.Release(free)
	}
}
