package stream

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/nats-io/nats.go/jetstream"
)

// Taggers that share the bays of a studio say that they are there in the bucket of
// leases, where what is not said again is forgotten as a lease is.
const members = "_members."

func memberKey(owner string) string {
	return members + strings.NewReplacer(".", "_", " ", "_", "*", "_", ">", "_").Replace(owner)
}

// Attend says that an owner is there and counts those that are, itself included,
// and without those that are known to be dead (nil: of none it is known).
func Attend(ctx context.Context, js jetstream.JetStream, owner string, dead func(owner string) bool) (n int, err error) {
	kv, err := js.KeyValue(ctx, Leases)
	if err == nil {
		_, err = kv.Put(ctx, memberKey(owner), []byte(owner))
	}
	if err != nil {
		return 0, fmt.Errorf("say that %s is there: %w", owner, err)
	}
	// Its keys' subjects, for which no consumer is needed.
	bucket := "$KV." + Leases + "."
	s, err := js.Stream(ctx, "KV_"+Leases)
	if err != nil {
		return 0, fmt.Errorf("count who is there: %w", err)
	}
	info, err := s.Info(ctx, jetstream.WithSubjectFilter(bucket+members+"*"))
	if err != nil {
		return 0, fmt.Errorf("count who is there: %w", err)
	}
	for subject := range info.State.Subjects {
		e, err := kv.Get(ctx, strings.TrimPrefix(subject, bucket))
		if errors.Is(err, jetstream.ErrKeyNotFound) || err == nil && dead != nil && dead(string(e.Value())) {
			continue
		}
		if err != nil {
			return 0, fmt.Errorf("count who is there: %w", err)
		}
		n++
	}
	return max(n, 1), nil
}

// Leave says that an owner is there no more.
func Leave(ctx context.Context, js jetstream.JetStream, owner string) error {
	kv, err := js.KeyValue(ctx, Leases)
	if err != nil {
		return err
	}
	return kv.Delete(ctx, memberKey(owner))
}

// Inherit is Acquire for who knows of some owners that they are dead: their leases
// are taken at once, rather than when they have run out.
func Inherit(ctx context.Context, js jetstream.JetStream, place Place, owner string, dead func(owner string) bool) (*Lease, error) {
	l, err := Acquire(ctx, js, place, owner)
	if !errors.Is(err, ErrLeased) || dead == nil {
		return l, err
	}
	kv, wrong := js.KeyValue(ctx, Leases)
	if wrong != nil {
		return nil, err
	}
	held, wrong := kv.Get(ctx, place.String())
	if wrong != nil || !dead(string(held.Value())) {
		return nil, err
	}
	l = &Lease{kv: kv, key: place.String(), owner: owner, revision: held.Revision()}
	return l, l.Renew(ctx) // of two heirs one is later, and hears ErrLeased
}
