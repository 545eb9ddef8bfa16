package prometheus

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	client "github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"

	"fairlead/dashboards/console"
	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
	"fairlead/deploy/studio"
	"fairlead/ingest/bay/collector"
	"fairlead/ingest/log/expose"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/process"
	"fairlead/processors/hub/store"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(enginetest.Wrap(m)) }

// running is a studio with one bay: broker and engine as processes of their
// own, the rest here, with the registries at hand.
type running struct {
	config     *studio.Config
	addresses  map[string]string // by job of prometheus.yml
	registries map[string]*client.Registry
}

func free(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// start runs the studio until the test ends. The bay's clock is an hour slow, so
// that there is an alarm to be seen.
func start(t *testing.T) *running {
	t.Helper()
	dir := t.TempDir()
	file := filepath.Join(dir, "studio.yaml")
	text := fmt.Sprintf(`studio: harbour-row
broker: {listen: "%s"}
bays:
  - name: north
    feeds: [{name: alder, map: alder.yaml, tail: shots.csv}]
backup: {to: copies}
`, free(t))
	example, err := os.ReadFile("../../testdata/feeds/alder.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for name, body := range map[string]string{file: text, filepath.Join(dir, "alder.yaml"): string(example)} {
		if err := os.WriteFile(name, []byte(body), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	config, err := studio.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	r := &running{config: config, addresses: map[string]string{"broker": free(t)}, registries: map[string]*client.Registry{}}
	broker(t, file, r.addresses["broker"], config.Broker.Listen)
	db := enginetest.New(t)
	r.addresses["engine"] = db.Process.Addr()

	log := slog.New(slog.DiscardHandler)
	ctx, cancel := context.WithCancel(context.Background())
	var group sync.WaitGroup
	t.Cleanup(func() { cancel(); group.Wait() })
	serve := func(name string, run func(r *client.Registry) error) {
		registry := expose.NewRegistry(name, "test")
		address, err := expose.Serve(ctx, "127.0.0.1:0", registry, log)
		if err != nil {
			t.Fatal(err)
		}
		r.addresses[name], r.registries[name] = address, registry
		group.Go(func() {
			if err := run(registry); err != nil && ctx.Err() == nil {
				t.Errorf("%s ended: %v", name, err)
			}
		})
	}
	place := config.Place("north")
	serve("process", func(registry *client.Registry) error {
		nc, js, err := stream.Connect(config.Link(studio.ProcessKey, stream.Place{}))
		if err != nil {
			return err
		}
		defer nc.Close()
		return process.Run(ctx, process.Options{Conn: nc, JS: js, Layout: config.Layout(), Store: store.New(db.Open(t)), Bays: config.Places(),
			Logger: log, Registry: registry})
	})
	serve("collect", func(registry *client.Registry) error {
		return collector.Run(ctx, collector.Options{Place: place, JournalDir: config.JournalDir("north"),
			Feeds: config.Feeds(&config.Bays[0], log),
			Link:  config.Link(stream.BayCredential("north"), place), Retention: time.Hour, Version: "test", Logger: log, Registry: registry,
			Wall: func() time.Time { return time.Now().Add(-time.Hour) }})
	})
	serve("console", func(registry *client.Registry) error {
		return console.Run(ctx, console.Options{Studio: config.Studio, Bays: []string{"north"}, Listen: "127.0.0.1:0",
			JournalDir: config.ConsoleJournalDir(),
			PeopleFile: config.PeopleFile(), Link: config.Link(studio.ConsoleKey, stream.Place{}), Version: "test", Logger: log, Registry: registry})
	})
	serve("watch", func(registry *client.Registry) error { return config.Watch(ctx, registry, log) })
	return r
}

// broker runs the program's own broker, the only process whose metrics are
// registered where it is started.
func broker(t *testing.T, config, metrics, listen string) {
	t.Helper()
	program := proof.Program(t, "fairlead")
	c := exec.Command(program, "broker", "--config", config, "--metrics", metrics, "--with-parent", "--log", "warn")
	c.Stdout, c.Stderr = os.Stderr, os.Stderr
	run(t, c)
	waitFor(t, "the broker", func() error {
		conn, err := net.DialTimeout("tcp", listen, time.Second)
		if err == nil {
			conn.Close()
		}
		return err
	})
}

// run starts a process that ends with the test: its standard input closes, and
// if that means nothing to it, it is killed.
func run(t *testing.T, c *exec.Cmd) {
	t.Helper()
	in, err := c.StdinPipe()
	if err == nil {
		err = c.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		in.Close()
		_ = c.Process.Signal(os.Interrupt)
		ended := time.AfterFunc(10*time.Second, func() { _ = c.Process.Kill() })
		_ = c.Wait()
		ended.Stop()
	})
}

func waitFor(t *testing.T, what string, try func() error) {
	t.Helper()
	deadline := time.Now().Add(90 * time.Second)
	for {
		err := try()
		if err == nil {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("%s: %v", what, err)
		}
		proof.Pause(t, 100*time.Millisecond)
	}
}

// discard reads what is left of an answer and closes it.
func discard(body io.ReadCloser) {
	_, _ = io.Copy(io.Discard, body)
	body.Close()
}
