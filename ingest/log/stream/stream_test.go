package stream

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fairlead/deploy/proof"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

func startBroker(t *testing.T, keyring *Keyring) *Broker {
	t.Helper()
	b, err := StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: t.TempDir(), Keyring: keyring})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Stop)
	return b
}

func connect(t *testing.T, l Link) (*nats.Conn, jetstream.JetStream) {
	t.Helper()
	nc, js, err := Connect(l)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(nc.Close)
	return nc, js
}

func TestDeclareIsIdempotentAndPublishCounts(t *testing.T) {
	b := startBroker(t, nil)
	_, js := connect(t, Link{URL: b.URL(), Name: "test"})
	ctx := t.Context()
	for range 2 {
		if err := Declare(ctx, js, DefaultLayout()); err != nil {
			t.Fatal(err)
		}
	}
	place := Place{"harbour-row", "north"}
	var batch []Message
	for i := range 300 {
		batch = append(batch, Message{place.ShotsSubject(), fmt.Sprintf("j-%d", i), []byte("shot")})
	}
	for range 2 { // the second time the broker swallows them
		if done, err := Publish(ctx, js, batch); done != 300 || err != nil {
			t.Fatal(done, err)
		}
	}
	s, err := js.Stream(ctx, Shots)
	if err != nil {
		t.Fatal(err)
	}
	if n := s.CachedInfo().State.Msgs; n != 300 {
		t.Errorf("%d messages in the log, want 300", n)
	}
	if done, err := Publish(ctx, js, []Message{{"shots.too.many.parts", "", nil}}); done != 0 || err == nil {
		t.Errorf("a subject without a stream: %d, %v", done, err)
	}
}

func TestPlaceOf(t *testing.T) {
	p := Place{"harbour-row", "quay"}
	for _, s := range []string{p.ShotsSubject(), p.VisitsSubject(), p.HealthSubject(), p.RepairSubject(), p.MarksSubject(),
		p.LiveSubject("trial")} {
		if got, ok := PlaceOf(s); !ok || got != p {
			t.Errorf("%s: %v, %v", s, got, ok)
		}
	}
	if _, ok := PlaceOf("shots.x"); ok {
		t.Error("a subject without a bay is taken")
	}
}

func TestLeaseHasOneOwner(t *testing.T) {
	b := startBroker(t, nil)
	_, js := connect(t, Link{URL: b.URL(), Name: "test"})
	ctx := t.Context()
	if err := Declare(ctx, js, DefaultLayout()); err != nil {
		t.Fatal(err)
	}
	place := Place{"harbour-row", "north"}
	a, err := Acquire(ctx, js, place, "a")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Acquire(ctx, js, place, "b"); !errors.Is(err, ErrLeased) {
		t.Fatalf("b takes a's bay: %v", err)
	}
	again, err := Acquire(ctx, js, place, "a")
	if err != nil {
		t.Fatalf("a can't take its own lease again: %v", err)
	}
	if err := a.Renew(ctx); !errors.Is(err, ErrLeased) {
		t.Errorf("the older holder renews: %v", err)
	}
	if err := again.Release(ctx); err != nil {
		t.Fatal(err)
	}
	if _, err := Acquire(ctx, js, place, "b"); err != nil {
		t.Errorf("b can't take a free bay: %v", err)
	}
}

// A kept lease outlives its time in the bucket, ends the holder's context when
// another takes it, is taken again when it only ran out, and is free as soon as it
// is released.
func TestLeaseIsKept(t *testing.T) {
	b := startBroker(t, nil)
	_, js := connect(t, Link{URL: b.URL(), Name: "test"})
	ctx := t.Context()
	if err := Declare(ctx, js, DefaultLayout()); err != nil {
		t.Fatal(err)
	}
	kept, lost := Place{"harbour-row", "north"}, Place{"harbour-row", "south"}
	a, err := Acquire(ctx, js, kept, "a")
	if err != nil {
		t.Fatal(err)
	}
	held, release := a.Keep(ctx)
	b1, err := Acquire(ctx, js, lost, "b")
	if err != nil {
		t.Fatal(err)
	}
	other, releaseOther := b1.Keep(ctx)
	defer releaseOther()
	if _, err := Acquire(ctx, js, lost, "b"); err != nil { // the same owner elsewhere: the first is out
		t.Fatal(err)
	}
	ranOut := Place{"harbour-row", "quay"}
	d, err := Acquire(ctx, js, ranOut, "d")
	if err != nil {
		t.Fatal(err)
	}
	still, releaseStill := d.Keep(ctx)
	defer releaseStill()
	if err := d.kv.Delete(ctx, d.key); err != nil { // as its time in the bucket does
		t.Fatal(err)
	}
	select {
	case <-other.Done():
	case <-time.After(20 * time.Second):
		t.Fatal("a lost lease goes on")
	}
	if !errors.Is(context.Cause(other), ErrLost) {
		t.Errorf("the cause is %v", context.Cause(other))
	}
	select {
	case <-held.Done():
		t.Fatalf("a kept lease ended: %v", context.Cause(held))
	case <-time.After(leaseTTL + 2*renewEvery):
	}
	if _, err := Acquire(ctx, js, kept, "c"); !errors.Is(err, ErrLeased) {
		t.Fatalf("c takes a kept lease: %v", err)
	}
	if _, err := Acquire(ctx, js, ranOut, "c"); still.Err() != nil || !errors.Is(err, ErrLeased) {
		t.Errorf("a lease that ran out and nobody took: %v; c takes it: %v", context.Cause(still), err)
	}
	release()
	if _, err := Acquire(ctx, js, kept, "c"); err != nil {
		t.Errorf("c can't take a released lease: %v", err)
	}
}

func TestClockExchange(t *testing.T) {
	b := startBroker(t, nil)
	hub, _ := connect(t, Link{URL: b.URL(), Name: "hub"})
	bay, _ := connect(t, Link{URL: b.URL(), Name: "bay"})
	start := time.Now()
	hour := time.Hour // the bay's wall clock does not enter: its monotonic one starts anywhere
	if _, err := ServeClock(hub, func() time.Time { return time.Now().Add(hour) }, "e1"); err != nil {
		t.Fatal(err)
	}
	hub.Flush()
	mono := func() time.Duration { return time.Since(start) }
	o, err := Exchange(t.Context(), bay, mono, 8)
	if err != nil {
		t.Fatal(err)
	}
	got := time.Unix(0, int64(o.Ahead+mono()))
	if diff := got.Sub(time.Now().Add(hour)).Abs(); diff > o.RTT+time.Second {
		t.Errorf("hub time is %s off, round trip %s", diff, o.RTT)
	}
}

func TestABaySpeaksOnlyAsItself(t *testing.T) {
	keyring := &Keyring{Dir: filepath.Join(t.TempDir(), "keys")}
	north, south := Place{"harbour-row", "north"}, Place{"harbour-row", "south"}
	for _, g := range []Grant{
		{Name: "hub", Role: RoleHub},
		{Name: BayCredential("north"), Role: RoleBay, Studio: north.Studio, Bay: north.Bay},
	} {
		for range 2 {
			if err := keyring.Ensure(g); err != nil {
				t.Fatal(err)
			}
		}
	}
	b := startBroker(t, keyring)
	ctx, cancel := context.WithCancel(t.Context())
	watched := make(chan struct{})
	go func() { b.WatchKeys(ctx); close(watched) }()
	defer func() { cancel(); <-watched }()

	_, hub := connect(t, Link{URL: b.URL(), Name: "hub", SeedFile: keyring.SeedFile("hub")})
	if err := Declare(ctx, hub, DefaultLayout()); err != nil {
		t.Fatal(err)
	}
	nc, bay := connect(t, Link{URL: b.URL(), Name: "north", SeedFile: keyring.SeedFile("bay-north"), Inbox: north.InboxPrefix()})
	if _, err := bay.Publish(ctx, north.ShotsSubject(), []byte("mine")); err != nil {
		t.Fatalf("a bay can't publish as itself: %v", err)
	}
	short, stop := context.WithTimeout(ctx, time.Second)
	defer stop()
	if _, err := bay.Publish(short, south.ShotsSubject(), []byte("not mine")); err == nil {
		t.Error("a bay publishes as another bay")
	}
	if _, err := bay.Publish(short, north.VisitsSubject(), []byte("not mine")); err == nil {
		t.Error("a bay writes visit events")
	}

	if err := os.Remove(filepath.Join(keyring.Dir, "bay-north.pub")); err != nil {
		t.Fatal(err)
	}
	proof.Until(t, "a revoked key is cut off", func() bool { return !nc.IsConnected() })
	anonymous, err := nats.Connect(b.URL(), nats.Timeout(time.Second))
	if err == nil {
		anonymous.Close()
		t.Error("a connection without a credential is taken")
	}
}

func TestBrokerSaysWhyItCannotStart(t *testing.T) {
	b := startBroker(t, nil)
	_, err := StartBroker(BrokerOptions{Listen: b.server.Addr().String(), DataDir: t.TempDir()})
	if err == nil {
		t.Fatal("two brokers on one port")
	}
	t.Log(err)
}

func TestASeedThatMovedAwayIsNotReplaced(t *testing.T) {
	keyring := Keyring{Dir: filepath.Join(t.TempDir(), "keys")}
	g := Grant{Name: "bay-north", Role: RoleBay, Studio: "harbour-row", Bay: "north"}
	key := func() string {
		t.Helper()
		if err := keyring.Ensure(g); err != nil {
			t.Fatal(err)
		}
		grants, err := keyring.Grants(time.Now())
		if err != nil || len(grants) != 1 {
			t.Fatal(grants, err)
		}
		return grants[0].Key
	}
	before := key()
	if err := os.Remove(keyring.SeedFile(g.Name)); err != nil { // moved to the bay's PC
		t.Fatal(err)
	}
	if key() != before {
		t.Error("a new key cuts off the bay that holds the old one")
	}
}
