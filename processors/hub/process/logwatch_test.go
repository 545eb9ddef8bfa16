package process

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"testing"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"

	"fairlead/deploy/proof"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

// No bay is tagged without the bucket of leases. It is made anew although the
// log can't be watched otherwise: here, because the store takes the question of
// what the log had been, and never answers.
func TestTheLeasesComeBackWhateverElseIsStuck(t *testing.T) {
	t.Parallel()
	b, err := stream.StartBroker(stream.BrokerOptions{Listen: "127.0.0.1:0", DataDir: t.TempDir(), NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Stop)
	nc, js, err := stream.Connect(stream.Link{URL: b.URL(), Name: "hub"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(nc.Close)
	if err := stream.Declare(t.Context(), js, stream.DefaultLayout()); err != nil {
		t.Fatal(err)
	}
	silent, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { silent.Close() })
	conn, err := clickhouse.Open(&clickhouse.Options{Protocol: clickhouse.HTTP, Addr: []string{silent.Addr().String()}, DialTimeout: time.Hour,
		ReadTimeout: time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	s := store.New(conn)
	t.Cleanup(func() { s.Close() })
	w, err := newLogWatch(Options{Conn: nc, JS: js, Layout: stream.DefaultLayout(), Store: s, Logger: slog.New(slog.DiscardHandler),
		Registry: prometheus.NewRegistry(),
		Bays:     []stream.Place{{Studio: "harbour-row", Bay: "north"}}}, nil, make(chan struct{}, 1))
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { w.run(ctx); close(done) }()
	defer func() { cancel(); <-done }()
	for range 2 {
		if err := js.DeleteKeyValue(t.Context(), stream.Leases); err != nil {
			t.Fatal(err)
		}
		proof.Until(t, "the bucket is made anew", func() bool {
			_, err := js.KeyValue(t.Context(), stream.Leases)
			if err != nil && !errors.Is(err, jetstream.ErrBucketNotFound) {
				t.Fatal(err)
			}
			return err == nil
		})
	}
}
