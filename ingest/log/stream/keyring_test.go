package stream

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"fairlead/deploy/proof"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// lines is a log that can be searched while it is written.
type lines struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lines) count(words string) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return strings.Count(l.b.String(), words)
}

// watched is a broker with a keyring of two bays that is watched.
func watched(t *testing.T) (*Broker, *Keyring, *lines) {
	t.Helper()
	k := &Keyring{Dir: filepath.Join(t.TempDir(), "keys")}
	for _, g := range []Grant{{Name: "process", Role: RoleProcess}, {Name: "bay-north", Role: RoleBay, Studio: north.Studio, Bay: north.Bay},
		{Name: "bay-south", Role: RoleBay, Studio: south.Studio, Bay: south.Bay}} {
		if err := k.Ensure(g); err != nil {
			t.Fatal(err)
		}
	}
	said := &lines{}
	layout := DefaultLayout()
	b, err := StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: t.TempDir(), Keyring: k, Layout: &layout,
		Logger: slog.New(slog.NewTextHandler(said, nil))})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	var watching sync.WaitGroup
	watching.Go(func() { b.WatchKeys(ctx) })
	t.Cleanup(func() { cancel(); watching.Wait(); b.Stop() })
	return b, k, said
}

func asBay(t *testing.T, b *Broker, seed string, p Place) (*nats.Conn, jetstream.JetStream) {
	return connect(t, Link{URL: b.URL(), Name: p.Bay, SeedFile: seed, Inbox: p.InboxPrefix()})
}

// A file that can't be understood grants nothing, and stops nothing: the other
// keys go on, and are still revoked within moments.
func TestRevocationGoesOnBesideFilesThatMeanNothing(t *testing.T) {
	b, k, said := watched(t)
	nc, _ := asBay(t, b, k.SeedFile("bay-north"), north)
	other, js := asBay(t, b, k.SeedFile("bay-south"), south)
	proof.Until(t, "both bays are connected", func() bool { return nc.IsConnected() && other.IsConnected() })
	good, err := os.ReadFile(k.GrantFile("bay-north"))
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"torn": `{"name": "torn", "ke`, "empty": "", "copy-of-north": string(good),
		"wild":   strings.NewReplacer(`"bay-north"`, `"wild"`, `"bay": "north"`, `"bay": "*"`).Replace(string(good)),
		"quoted": strings.NewReplacer(`"bay-north"`, `"quoted"`, `"bay": "north"`, `"bay": "n\"}]}"`).Replace(string(good)),
		"role":   strings.NewReplacer(`"bay-north"`, `"role"`, `"role": "bay"`, `"role": "owner"`).Replace(string(good)),
	} {
		if err := os.WriteFile(k.GrantFile(name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(k.GrantFile("folder"), 0o700); err != nil {
		t.Fatal(err)
	}
	proof.Until(t, "the broker says which files mean nothing", func() bool { return said.count("copy-of-north") > 0 })
	if err := os.Remove(k.GrantFile("bay-north")); err != nil {
		t.Fatal(err)
	}
	proof.Until(t, "the revoked key is cut off", func() bool { return !nc.IsConnected() })
	if _, err := js.Publish(t.Context(), south.ShotsSubject(), []byte("mine")); err != nil {
		t.Errorf("the other bay suffers: %v", err)
	}
	applied := said.count("keyring applied")
	if applied > 3 {
		t.Errorf("the keyring was applied %d times for one change", applied)
	}
	grants, err := k.Grants(time.Now())
	if err == nil || len(grants) != 2 {
		t.Errorf("%d grants, error %v", len(grants), err)
	}
}

// While a key is followed by another, both are taken until the stated time.
func TestRotationWithoutARestart(t *testing.T) {
	b, k, _ := watched(t)
	old := filepath.Join(t.TempDir(), "old.seed")
	seed, err := os.ReadFile(k.SeedFile("bay-north"))
	if err == nil {
		err = os.WriteFile(old, seed, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	before, js := asBay(t, b, old, north)
	proof.Until(t, "the bay is connected", before.IsConnected)
	end := time.Now().Add(time.Hour)
	if err := k.Rotate("bay-north", end); err != nil {
		t.Fatal(err)
	}
	after, jsAfter := asBay(t, b, k.SeedFile("bay-north"), north)
	proof.Until(t, "the new key is taken", after.IsConnected)
	for name, j := range map[string]jetstream.JetStream{"old": js, "new": jsAfter} {
		if _, err := j.Publish(t.Context(), north.ShotsSubject(), []byte("x")); err != nil {
			t.Errorf("the %s key: %v", name, err)
		}
	}
	if grants, err := k.Grants(end.Add(-time.Second)); err != nil || len(grants) != 4 {
		t.Errorf("before its time the old key is in force: %v, %v", grants, err)
	}
	if grants, err := k.Grants(end); err != nil || len(grants) != 3 {
		t.Errorf("after its time it is not: %v, %v", grants, err)
	}
	if err := k.Rotate("bay-north", time.Now()); err != nil { // the first one is cut off, the second's time is over
		t.Fatal(err)
	}
	proof.Until(t, "both old keys are cut off", func() bool { return !before.IsConnected() && !after.IsConnected() })
	if err := k.Rotate("bay-north-previous", end); err == nil {
		t.Error("a key that was followed is rotated")
	}
	if err := k.Rotate("nobody", end); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a key that is not there: %v", err)
	}
}

// A bay that comes into the configuration while the broker runs is served.
func TestAKeyMadeLaterIsTaken(t *testing.T) {
	b, k, _ := watched(t)
	for i := range 3 {
		p := Place{north.Studio, fmt.Sprintf("new-%d", i)}
		if err := k.Ensure(Grant{Name: BayCredential(p.Bay), Role: RoleBay, Studio: p.Studio, Bay: p.Bay}); err != nil {
			t.Fatal(err)
		}
		nc, js := asBay(t, b, k.SeedFile(BayCredential(p.Bay)), p)
		proof.Until(t, "the new bay is connected", nc.IsConnected)
		if _, err := js.Publish(t.Context(), p.ShotsSubject(), []byte("x")); err != nil {
			t.Fatal(err)
		}
	}
}

// A broker of before there were accounts keeps what it has, and a keyring with
// its one key for everything goes on, less what empties the log.
func TestABrokerOfBeforeGoesOn(t *testing.T) {
	dir := t.TempDir()
	first, err := StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: dir})
	if err != nil {
		t.Fatal(err)
	}
	nc, js := connect(t, Link{URL: first.URL()})
	if _, err := js.CreateStream(t.Context(),
		jetstream.StreamConfig{Name: Shots, Subjects: []string{"shots.*.*"}, PersistMode: jetstream.AsyncPersistMode}); err != nil {
		t.Fatal(err)
	}
	for range 20 {
		if _, err := js.Publish(t.Context(), north.ShotsSubject(), []byte("x")); err != nil {
			t.Fatal(err)
		}
	}
	nc.Close()
	first.Stop()
	k := &Keyring{Dir: filepath.Join(t.TempDir(), "keys")}
	if err := k.Ensure(Grant{Name: "hub", Role: RoleHub}); err != nil {
		t.Fatal(err)
	}
	for range 2 { // and again
		layout := DefaultLayout()
		b, err := StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: dir, Keyring: k, Layout: &layout})
		if err != nil {
			t.Fatal(err)
		}
		hub, hubJS := connect(t, Link{URL: b.URL(), SeedFile: k.SeedFile("hub")})
		s, err := hubJS.Stream(t.Context(), Shots)
		if err != nil {
			t.Fatal(err)
		}
		info := s.CachedInfo()
		if info.State.Msgs != 20 || !info.Config.DenyDelete || !info.Config.DenyPurge || info.Config.MaxBytes != layout.ShotsBytes {
			t.Errorf("%d messages, %+v", info.State.Msgs, info.Config)
		}
		short, cancel := context.WithTimeout(t.Context(), 2*time.Second)
		if err := hubJS.DeleteStream(short, Shots); err == nil {
			t.Error("the old key takes the log away")
		}
		cancel()
		if err := Declare(t.Context(), hubJS, layout); err != nil {
			t.Errorf("the process declares what is there: %v", err)
		}
		hub.Close()
		b.Stop()
	}
}

// A file that means nothing keeps no broker from starting.
func TestABrokerStartsBesideAFileThatMeansNothing(t *testing.T) {
	k := &Keyring{Dir: filepath.Join(t.TempDir(), "keys")}
	if err := k.Ensure(Grant{Name: "bay-north", Role: RoleBay, Studio: north.Studio, Bay: north.Bay}); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(k.GrantFile("torn"), []byte(`{"name"`), 0o600); err != nil {
		t.Fatal(err)
	}
	layout := DefaultLayout()
	b, err := StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: t.TempDir(), Keyring: k, Layout: &layout})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Stop)
	_, js := asBay(t, b, k.SeedFile("bay-north"), north)
	if _, err := js.Publish(t.Context(), north.ShotsSubject(), []byte("x")); err != nil {
		t.Error(err)
	}
}
