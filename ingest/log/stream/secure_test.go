package stream

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"fairlead/deploy/proof"
	"fairlead/ingest/log/authority"
)

// certified is an authority of a studio.
func certified(t *testing.T) (*authority.Authority, *authority.Leaf) {
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

// guarded is a broker with TLS and the keys of two bays, each file with the authority.
func guarded(t *testing.T) (*Broker, *Keyring, *authority.Authority) {
	t.Helper()
	a, l := certified(t)
	k := &Keyring{Dir: filepath.Join(t.TempDir(), "keys")}
	for _, g := range []Grant{{Name: "bay-north", Role: RoleBay, Studio: north.Studio, Bay: north.Bay},
		{Name: "bay-south", Role: RoleBay, Studio: south.Studio, Bay: south.Bay}} {
		if err := k.Ensure(g); err != nil {
			t.Fatal(err)
		}
		if changed, err := k.Carry(g.Name, a.PEM()); err != nil || !changed {
			t.Fatal(changed, err)
		}
		if changed, err := k.Carry(g.Name, a.PEM()); err != nil || changed {
			t.Fatal("carried twice", err)
		}
	}
	layout := DefaultLayout()
	b, err := StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: t.TempDir(), Keyring: k, Layout: &layout, TLS: l.Config()})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	var watching sync.WaitGroup
	watching.Go(func() { b.WatchKeys(ctx) })
	t.Cleanup(func() { cancel(); watching.Wait(); b.Stop() })
	return b, k, a
}

func address(b *Broker) string { return b.server.Addr().String() }

func bayLink(b *Broker, k *Keyring, p Place) Link {
	return Link{URL: "nats://" + address(b), SeedFile: k.SeedFile(BayCredential(p.Bay)), Name: "bay", Inbox: p.InboxPrefix()}
}

// connected opens a link and says what came of it.
func connected(t *testing.T, l Link) (*nats.Conn, error) {
	t.Helper()
	nc, _, err := Connect(l)
	if err != nil {
		return nil, err
	}
	t.Cleanup(nc.Close)
	proof.Until(t, "an answer of the broker", func() bool { return nc.IsConnected() || nc.LastError() != nil })
	if nc.IsConnected() {
		return nc, nil
	}
	return nc, nc.LastError()
}

func TestABaysOneFileOpensAndHoldsTheHub(t *testing.T) {
	b, k, _ := guarded(t)
	nc, err := connected(t, bayLink(b, k, north))
	if err != nil {
		t.Fatal(err)
	}
	if state, err := nc.TLSConnectionState(); err != nil || len(state.PeerCertificates) == 0 {
		t.Fatalf("it is spoken to in clear: %v", err)
	}
	other, err := connected(t, bayLink(b, k, south))
	if err != nil {
		t.Fatal(err)
	}
	// Revoked: the connection is cut, and no new one gets past the handshake.
	if err := k.Revoke("bay-north"); err != nil {
		t.Fatal(err)
	}
	proof.Until(t, "the revoked key to be cut off", func() bool { return !nc.IsConnected() })
	// Which of both sides finds the connection cut first is a matter of load.
	_, err = connected(t, bayLink(b, k, north))
	cut := func(how string) bool { return err != nil && strings.Contains(err.Error(), how) }
	if err == nil || Mistrust(err) == "" && !cut("EOF") && !cut("reset") && !cut("broken pipe") && !cut("closed by remote") {
		t.Errorf("a revoked key: %v", err)
	}
	if !other.IsConnected() {
		t.Error("the other bay was cut off too")
	}
}

// A studio's key of a head office names the head office's authority: another hub at its
// address is told nothing, nor is one that speaks in clear, and the head office speaks
// with nobody who has no key of its own.
func TestAStudioHoldsItsHeadOffice(t *testing.T) {
	b, k, a := guarded(t)
	name := StudioCredential("mill-lane")
	if err := k.Ensure(Grant{Name: name, Role: RoleStudio, Studio: "mill-lane"}); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Carry(name, a.PEM()); err != nil {
		t.Fatal(err)
	}
	to := func(at *Broker) Link {
		return Link{URL: "nats://" + address(at), SeedFile: k.SeedFile(name), Name: name, Inbox: "_INBOX_studio"}
	}
	var nc *nats.Conn
	proof.Until(t, "the key to be in force", func() (ok bool) {
		var err error
		nc, err = connected(t, to(b))
		return err == nil
	})
	if state, err := nc.TLSConnectionState(); err != nil || len(state.PeerCertificates) == 0 {
		t.Fatalf("it is spoken to in clear: %v", err)
	}
	other, theirs, _ := guarded(t)
	if _, err := connected(t, to(other)); Mistrust(err) == "" {
		t.Errorf("another hub in the head office's place: %v", err)
	}
	stranger := to(b)
	stranger.SeedFile = theirs.SeedFile(BayCredential(north.Bay))
	if _, err := connected(t, stranger); err == nil {
		t.Error("a key of another hub is let in")
	}
	keys := &Keyring{Dir: filepath.Join(t.TempDir(), "keys")}
	if err := keys.Ensure(Grant{Name: name, Role: RoleStudio, Studio: "mill-lane"}); err != nil {
		t.Fatal(err)
	}
	layout := DefaultLayout()
	clear, err := StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: t.TempDir(), Keyring: keys, Layout: &layout})
	if err != nil {
		t.Fatal(err)
	}
	defer clear.Stop()
	for _, said := range []bool{false, true} {
		l := to(clear) // the authority in the key's file counts, whatever is said of the way
		l.Clear = said
		if _, err := connected(t, l); err == nil {
			t.Errorf("a head office that speaks in clear is told something, clear said: %v", said)
		}
	}
}

// Nothing but a key in force gets as far as the broker's own protocol.
func TestNobodyGetsPastTheHandshakeWithoutAKey(t *testing.T) {
	b, k, a := guarded(t)
	clear := bayLink(b, k, north)
	clear.Inside = true
	if _, err := connected(t, clear); err == nil {
		t.Error("a key is taken in clear")
	}
	certificate := filepath.Join(t.TempDir(), "authority.pem")
	if err := os.WriteFile(certificate, a.PEM(), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := connected(t, Link{URL: "nats://" + address(b), Authority: certificate, Name: "nobody"}); err == nil {
		t.Error("somebody without a key is let in")
	}
	foreign := &Keyring{Dir: filepath.Join(t.TempDir(), "keys")}
	if err := foreign.Ensure(Grant{Name: "bay-north", Role: RoleBay, Studio: north.Studio, Bay: north.Bay}); err != nil {
		t.Fatal(err)
	}
	if _, err := foreign.Carry("bay-north", a.PEM()); err != nil {
		t.Fatal(err)
	}
	if _, err := connected(t, bayLink(b, foreign, north)); err == nil {
		t.Error("a key of no grant is let in")
	}
}

// rogue is a listener that speaks like a broker and keeps what it is sent.
type rogue struct {
	mu    sync.Mutex
	heard bytes.Buffer
	met   int
}

func (r *rogue) count() int { r.mu.Lock(); defer r.mu.Unlock(); return r.met }

func (r *rogue) serve(l net.Listener, info string) {
	for {
		c, err := l.Accept()
		if err != nil {
			return
		}
		go func() {
			defer c.Close()
			fmt.Fprintf(c, "INFO %s\r\n", info)
			buffer := make([]byte, 4096)
			for first := true; ; first = false {
				n, err := c.Read(buffer)
				r.mu.Lock()
				if first {
					r.met++
				}
				r.heard.Write(buffer[:n])
				r.mu.Unlock()
				if err != nil {
					return
				}
			}
		}()
	}
}

// A hub that is not the bay's own, with no certificate, is told nothing at all:
// not the bay's name, not its key's answer, not a shot.
func TestAHubThatSpeaksInClearIsToldNothing(t *testing.T) {
	_, k, _ := guarded(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	r := &rogue{}
	go r.serve(l, `{"server_id":"X","version":"2.15.3","proto":1,"max_payload":1048576,"nonce":"abcdefghijk","headers":true}`)
	said := &lines{}
	_, err = connected(t, Link{URL: "nats://" + l.Addr().String(), SeedFile: k.SeedFile("bay-north"), Name: "bay",
		Logger: slog.New(slog.NewTextHandler(said, nil))})
	if err == nil {
		t.Fatal("it is connected")
	}
	proof.Until(t, "the rogue to be met twice", func() bool { return r.count() > 1 })
	proof.Until(t, "the log to say why", func() bool { return said.count("nothing is given to this broker") > 0 })
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.heard.Len() > 0 {
		t.Errorf("it was told %q", r.heard.String())
	}
	if n := said.count("nothing is given"); n > 1 {
		t.Errorf("it is said %d times", n)
	}
}

// Without an authority another machine is spoken to only by TLS, unless it may be in clear.
func TestWhoMayBeSpokenToInClear(t *testing.T) {
	for _, c := range []struct {
		link   Link
		secure bool
	}{
		{Link{URL: "nats://127.0.0.1:4222"}, false}, {Link{URL: "127.0.0.1:4222, nats://localhost:4223"}, false},
		{Link{URL: "nats://[::1]:4222"}, false}, {Link{URL: "tls://127.0.0.1:4222"}, true}, {Link{URL: "nats://10.0.0.5:4222"}, true},
		{Link{URL: "nats://127.0.0.1:4222,nats://hub:4222"}, true}, {Link{URL: "nats://127.0.0.1.example:4222"}, true},
		{Link{URL: "nats://10.0.0.5:4222", Clear: true}, false}, {Link{URL: "tls://10.0.0.5:4222", Clear: true}, true},
		{Link{URL: "nats://10.0.0.5:4222", Inside: true}, false},
	} {
		got, err := c.link.secure()
		if err != nil || (got != nil) != c.secure {
			t.Errorf("%+v: %v, %v", c.link, got != nil, err)
		}
	}
}

// Garbage and half-open handshakes at a broker with TLS: who holds a key still gets in.
func TestGarbageBeforeTheHandshakeStopsNobody(t *testing.T) {
	b, k, _ := guarded(t)
	thrown := proof.Garbage(t, "tcp", address(b))
	_, js := connect(t, bayLink(b, k, north))
	if _, err := js.Publish(t.Context(), north.ShotsSubject(), []byte("{}")); err != nil {
		t.Errorf("after %d connections of garbage: %v", thrown, err)
	}
}
