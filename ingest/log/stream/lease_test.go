package stream

import (
	"errors"
	"testing"
)

// A renewal that was taken and whose answer was lost leaves the lease where it is;
// somebody else who came meanwhile has it.
func TestARenewalWithoutAnAnswer(t *testing.T) {
	b := startBroker(t, nil)
	_, js := connect(t, Link{URL: b.URL(), Name: "test"})
	ctx := t.Context()
	if err := Declare(ctx, js, DefaultLayout()); err != nil {
		t.Fatal(err)
	}
	l, err := Acquire(ctx, js, Place{"harbour-row", "north"}, "a")
	if err != nil {
		t.Fatal(err)
	}
	before := l.revision
	if err := l.Renew(ctx); err != nil {
		t.Fatal(err)
	}
	l.revision = before // as if nothing had come back
	if err := l.Renew(ctx); !errors.Is(err, ErrLeased) {
		t.Fatal(err)
	}
	if err := l.again(ctx); !errors.Is(err, ErrLeased) {
		t.Errorf("a lease that was taken by one of the same name is taken back: %v", err)
	}
	l.unsure = true
	if err := l.again(ctx); err != nil || l.unsure {
		t.Errorf("%v, %v", err, l.unsure)
	}
	if err := l.Renew(ctx); err != nil {
		t.Error(err)
	}
	if _, err := l.kv.Put(ctx, l.key, []byte("b")); err != nil {
		t.Fatal(err)
	}
	l.unsure = true
	if err := l.again(ctx); !errors.Is(err, ErrLeased) {
		t.Errorf("another's lease is taken: %v", err)
	}
}
