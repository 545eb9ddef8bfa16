package nats

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	natsgo "github.com/nats-io/nats.go"
	"go.uber.org/goleak"

	"fairlead/ingest/log/stream"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const studio = "harbour-row"

var placeholder = regexp.MustCompile(`nkey: (U[A-Z]+)`)

// prepared copies the configurations with real keys in place of the examples
// (hub, north, south, in their order) and returns the keyring.
func prepared(t *testing.T) (dir string, keys stream.Keyring) {
	t.Helper()
	dir = t.TempDir()
	keys = stream.Keyring{Dir: filepath.Join(dir, "keys")}
	for _, g := range []stream.Grant{{Name: "hub", Role: stream.RoleHub},
		{Name: "bay-north", Role: stream.RoleBay, Studio: studio, Bay: "north"}, {Name: "bay-south", Role: stream.RoleBay, Studio: studio, Bay: "south"}} {
		if err := keys.Ensure(g); err != nil {
			t.Fatal(err)
		}
	}
	grants, err := keys.Grants(time.Now()) // bay-north, bay-south, hub
	if err != nil {
		t.Fatal(err)
	}
	real := []string{grants[2].Key, grants[0].Key, grants[1].Key}
	for _, name := range []string{"nats-server.conf", "cluster.conf"} {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		found := placeholder.FindAllStringSubmatch(string(text), -1)
		if name == "nats-server.conf" && len(found) != len(real) {
			t.Fatalf("%d keys in %s", len(found), name)
		}
		changed := strings.ReplaceAll(string(text), "/var/lib/nats", filepath.Join(dir, "store"))
		for i, m := range found {
			changed = strings.Replace(changed, m[1], real[i], 1)
		}
		if err := os.WriteFile(filepath.Join(dir, name), []byte(changed), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir, keys
}

// What the configuration grants is what the embedded broker grants.
func TestGrantsAreThoseOfTheKeyring(t *testing.T) {
	dir, keys := prepared(t)
	o, err := server.ProcessConfigFile(filepath.Join(dir, "nats-server.conf"))
	if err != nil {
		t.Fatal(err)
	}
	if !o.JetStream || !o.SyncAlways || o.MaxPayload != 1<<20 {
		t.Errorf("JetStream %t, sync always %t, payload %d", o.JetStream, o.SyncAlways, o.MaxPayload)
	}
	grants, err := keys.Grants(time.Now())
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range grants {
		i := slices.IndexFunc(o.Nkeys, func(u *server.NkeyUser) bool { return u.Nkey == g.Key })
		if i < 0 {
			t.Errorf("%s may not connect", g.Name)
			continue
		}
		got := o.Nkeys[i].Permissions
		if g.Role == stream.RoleHub {
			if got != nil {
				t.Errorf("the hub is bound to %v", got)
			}
			continue
		}
		p := stream.Place{Studio: g.Studio, Bay: g.Bay}
		publish := []string{p.ShotsSubject(), p.HealthSubject(), p.MarksSubject(), stream.ClockSubject}
		subscribe := []string{p.RepairSubject(), p.AskSubject(), p.InboxPrefix() + ".>"}
		if !reflect.DeepEqual(got.Publish.Allow, publish) || !reflect.DeepEqual(got.Subscribe.Allow, subscribe) || got.Response == nil || got.Response.MaxMsgs != 1 {
			t.Errorf("%s: publish %v, subscribe %v, response %v", g.Name, got.Publish, got.Subscribe, got.Response)
		}
	}
}

func TestClusterConfiguration(t *testing.T) {
	dir, _ := prepared(t)
	o, err := server.ProcessConfigFile(filepath.Join(dir, "cluster.conf"))
	if err != nil {
		t.Fatal(err)
	}
	if o.Cluster.Name != studio || o.Cluster.Port != 6222 || len(o.Routes) != 3 || o.ServerName != "harbour-row-n1" || len(o.Nkeys) != 3 || !o.JetStream {
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
	hub, js, err := stream.Connect(stream.Link{URL: s.ClientURL(), SeedFile: keys.SeedFile("hub")})
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
}

func waitConnected(t *testing.T, nc *natsgo.Conn) {
	t.Helper()
	for deadline := time.Now().Add(20 * time.Second); !nc.IsConnected(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("not connected: %v", nc.LastError())
		}
	}
}
