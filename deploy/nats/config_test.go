package nats

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	natsgo "github.com/nats-io/nats.go"
	"go.uber.org/goleak"

	"fairlead/deploy/proof"
	studioconfig "fairlead/deploy/studio"
	"fairlead/ingest/log/stream"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const studio = "harbour-row"

var key = regexp.MustCompile(`nkey: U[A-Z2-7]+`)

// prepared copies the configurations, with the accounts of a keyring beside them.
func prepared(t *testing.T) (dir string, keys stream.Keyring) {
	t.Helper()
	dir = t.TempDir()
	keys = stream.Keyring{Dir: filepath.Join(dir, "keys")}
	config := &studioconfig.Config{Studio: studio, Bays: []studioconfig.Bay{{Name: "north"}, {Name: "south"}}}
	for _, g := range config.Credentials() {
		if err := keys.Ensure(g); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"nats-server.conf", "cluster.conf"} {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		changed := strings.ReplaceAll(string(text), "/var/lib/nats", filepath.Join(dir, "store"))
		if err := os.WriteFile(filepath.Join(dir, name), []byte(changed), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	grants, err := keys.Grants(time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "accounts.conf"), []byte(stream.Accounts(grants)), 0o600); err != nil {
		t.Fatal(err)
	}
	return dir, keys
}

// The accounts that are shown are those that are written, less the keys.
func TestTheExampleIsWhatIsWritten(t *testing.T) {
	dir, _ := prepared(t)
	written, err := os.ReadFile(filepath.Join(dir, "accounts.conf"))
	if err != nil {
		t.Fatal(err)
	}
	example, err := os.ReadFile("accounts.conf")
	if err != nil {
		t.Fatal(err)
	}
	if got := key.ReplaceAllString(string(written), "nkey: UEXAMPLE"); got != string(example) {
		if os.Getenv("FAIRLEAD_GOLDEN") == "write" {
			if err := os.WriteFile("accounts.conf", []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			return
		}
		t.Error("accounts.conf is not what `fairlead keys accounts` writes: run the test with FAIRLEAD_GOLDEN=write")
	}
}

func TestClusterConfiguration(t *testing.T) {
	dir, _ := prepared(t)
	o, err := server.ProcessConfigFile(filepath.Join(dir, "cluster.conf"))
	if err != nil {
		t.Fatal(err)
	}
	if o.Cluster.Name != studio || o.Cluster.Port != 6222 || len(o.Routes) != 3 || o.ServerName != "harbour-row-n1" || len(o.Nkeys) != 5 ||
		!o.JetStream {
		t.Errorf("%+v, routes %v, name %s, %d keys", o.Cluster, o.Routes, o.ServerName, len(o.Nkeys))
	}
}

// A server with the configuration serves the program: the hub declares its
// streams, a bay publishes as itself and as nobody else.
func TestServerServesHubAndBays(t *testing.T) {
	dir, keys := prepared(t)
	o, err := server.ProcessConfigFile(filepath.Join(dir, "nats-server.conf"))
	if err != nil {
		t.Fatal(err)
	}
	o.Host, o.Port, o.NoSigs, o.NoLog = "127.0.0.1", server.RANDOM_PORT, true, true
	s, err := server.NewServer(o)
	if err != nil {
		t.Fatal(err)
	}
	s.Start()
	t.Cleanup(func() { s.Shutdown(); s.WaitForShutdown() })
	if !s.ReadyForConnections(20 * time.Second) {
		t.Fatal("the server is not ready")
	}
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	hub, js, err := stream.Connect(stream.Link{URL: s.ClientURL(), SeedFile: keys.SeedFile("process"), Inbox: "_INBOX_process"})
	if err != nil {
		t.Fatal(err)
	}
	defer hub.Close()
	waitConnected(t, hub)
	if err := stream.Declare(ctx, js, stream.DefaultLayout()); err != nil {
		t.Fatal(err)
	}
	north := stream.Place{Studio: studio, Bay: "north"}
	nc, jsNorth, err := stream.Connect(stream.Link{URL: s.ClientURL(), SeedFile: keys.SeedFile("bay-north"), Inbox: north.InboxPrefix()})
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	refused := make(chan error, 10)
	nc.SetErrorHandler(func(_ *natsgo.Conn, _ *natsgo.Subscription, err error) { refused <- err })
	waitConnected(t, nc)
	if _, err := jsNorth.Publish(ctx, north.ShotsSubject(), []byte("x")); err != nil {
		t.Errorf("a bay can't publish as itself: %v", err)
	}
	for _, subject := range []string{stream.Place{Studio: studio, Bay: "south"}.ShotsSubject(), north.VisitsSubject()} {
		if err := errors.Join(nc.Publish(subject, []byte("x")), nc.Flush()); err != nil {
			t.Fatal(err)
		}
		select {
		case err := <-refused:
			if !strings.Contains(fmt.Sprint(err), subject) {
				t.Errorf("refused for another reason: %v", err)
			}
		case <-ctx.Done():
			t.Errorf("a bay published to %s", subject)
		}
	}
	info, err := js.Stream(ctx, stream.Shots)
	if err != nil {
		t.Fatal(err)
	}
	if n := info.CachedInfo().State.Msgs; n != 1 {
		t.Errorf("%d entries in the log", n)
	}
	layout := stream.DefaultLayout()
	layout.ShotsBytes = 1 << 30
	if err := stream.Declare(ctx, js, layout); err != nil {
		t.Errorf("the process can't bring the streams up to date: %v", err)
	}
	// What empties the log is closed, by request and by the log's own hand: an
	// entry whose answer would go to the broker's own subjects is not even taken.
	for _, call := range []string{"$JS.API.STREAM.PURGE." + stream.Shots, "$JS.API.STREAM.DELETE." + stream.Shots} {
		if err := errors.Join(nc.PublishRequest(north.ShotsSubject(), call, nil), hub.PublishRequest("$JS.API.STREAM.NAMES", call, nil),
			hub.Publish(call, nil)); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(nc.Flush(), hub.Flush()); err != nil {
		t.Fatal(err)
	}
	if _, err := jsNorth.Publish(ctx, north.ShotsSubject(), []byte("y")); err != nil {
		t.Fatal(err)
	}
	if info, err = js.Stream(ctx, stream.Shots); err != nil || info.CachedInfo().State.Msgs != 2 ||
		info.CachedInfo().Config.MaxBytes != layout.ShotsBytes {
		t.Errorf("the log: %+v, %v", info.CachedInfo().State, err)
	}
}

func waitConnected(t *testing.T, nc *natsgo.Conn) {
	t.Helper()
	proof.Until(t, "connected", nc.IsConnected)
}
