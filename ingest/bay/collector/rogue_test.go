package collector

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"

	"fairlead/deploy/proof"
	"fairlead/ingest/bay/feed"
	"fairlead/ingest/log/authority"
	"fairlead/ingest/log/stream"
)

// authorityOf makes one, and what its hub shows.
func authorityOf(t *testing.T) (*authority.Authority, *authority.Leaf) {
	t.Helper()
	a, err := authority.Ensure(filepath.Join(t.TempDir(), "authority"), "harbour-row", nil, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	l, err := a.Leaf(nil, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	return a, l
}

// A hub that stands at the bay's hub's address and is another one gets nothing,
// with a certificate of its own and with none; the journal keeps every shot, and
// the true hub gets them when it is back.
func TestARogueHubGetsNotAShot(t *testing.T) {
	a, leaf := authorityOf(t)
	_, foreign := authorityOf(t)
	dir := t.TempDir()
	ring := stream.Keyring{Dir: filepath.Join(dir, "keys")}
	name := stream.BayCredential(north.Bay)
	for _, g := range []stream.Grant{{Name: name, Role: stream.RoleBay, Studio: north.Studio, Bay: north.Bay},
		{Name: "process", Role: stream.RoleProcess}} {
		if err := ring.Ensure(g); err != nil {
			t.Fatal(err)
		}
		if _, err := ring.Carry(g.Name, a.PEM()); err != nil {
			t.Fatal(err)
		}
	}
	own := stream.Keyring{Dir: filepath.Join(dir, "rogues")}
	if err := own.Ensure(stream.Grant{Name: name, Role: stream.RoleBay, Studio: north.Studio, Bay: north.Bay}); err != nil {
		t.Fatal(err)
	}
	rogue, err := stream.StartBroker(stream.BrokerOptions{Listen: "127.0.0.1:0", DataDir: filepath.Join(dir, "rogue"),
		Keyring: &own, TLS: foreign.Config()})
	if err != nil {
		t.Fatal(err)
	}
	at := strings.TrimPrefix(strings.TrimPrefix(rogue.URL(), "tls://"), "nats://")

	m, err := feed.ParseMap("willow.yaml", []byte(fieldMap))
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "shots.csv")
	if err := os.WriteFile(file, []byte("id,carry,offline\n1,200,3\n2,201,-3\n3,199,0\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	tail, err := feed.NewTail(feed.TailConfig{Map: m, Path: file})
	if err != nil {
		t.Fatal(err)
	}
	var why atomic.Value
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		done <- Run(ctx, Options{Place: north, JournalDir: filepath.Join(dir, "journal"), Machine: "a", Retention: time.Hour,
			Feeds: []Feed{{Name: "ball", Source: tail}}, Registry: prometheus.NewRegistry(),
			Link: stream.Link{URL: "nats://" + at, SeedFile: ring.SeedFile(name), Name: name, Inbox: north.InboxPrefix()},
			Told: func(said string) { why.Store(said) }})
	}()
	defer func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	}()
	said := func(words string) func() bool {
		return func() bool { s, _ := why.Load().(string); return strings.Contains(s, words) }
	}
	proof.Until(t, "the bay to say that the hub is not its own", said("not of the studio's authority"))
	// One that tries to shake hands counts until it has hung up.
	proof.Until(t, "nobody to be connected to a hub with a certificate of its own", func() bool { return rogue.Connections() == 0 })
	rogue.Stop()

	if rogue, err = stream.StartBroker(stream.BrokerOptions{Listen: at, DataDir: filepath.Join(dir, "rogue")}); err != nil {
		t.Fatal(err)
	}
	listener, err := nats.Connect("nats://" + at)
	if err != nil {
		t.Fatal(err)
	}
	heard := make(chan *nats.Msg, 1)
	if _, err := listener.ChanSubscribe(">", heard); err != nil {
		t.Fatal(err)
	}
	if err := listener.Flush(); err != nil {
		t.Fatal(err)
	}
	proof.Until(t, "the bay to say that the hub asks for no key", said("asks for no key"))
	select {
	case m := <-heard:
		t.Errorf("the rogue heard %s", m.Subject)
	default:
	}
	listener.Close()
	rogue.Stop()
	if infos, err := os.ReadDir(filepath.Join(dir, "journal")); err != nil || len(infos) == 0 {
		t.Fatalf("no journal: %v", err)
	}

	layout := stream.DefaultLayout()
	hub, err := stream.StartBroker(stream.BrokerOptions{Listen: at, DataDir: filepath.Join(dir, "hub"), Keyring: &ring, Layout: &layout,
		TLS: leaf.Config()})
	if err != nil {
		t.Fatal(err)
	}
	defer hub.Stop()
	proof.Until(t, "the true hub to be spoken to", func() bool { s, ok := why.Load().(string); return ok && s == "" })
	nc, js, err := stream.Connect(stream.Link{URL: "nats://" + at, SeedFile: ring.SeedFile("process"), Name: "process",
		Inbox: "_INBOX_process"})
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	proof.Until(t, "the shots to be with the true hub", func() bool {
		s, err := js.Stream(t.Context(), stream.Shots)
		if err != nil {
			return false
		}
		return s.CachedInfo().State.Msgs == 3
	})
}
