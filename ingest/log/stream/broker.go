package stream

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"path/filepath"
	"strconv"
	"sync"
	"time"

	"github.com/nats-io/nats-server/v2/server"
)

// BrokerOptions configure the embedded broker.
type BrokerOptions struct {
	Listen  string // host:port; port 0 takes a free one
	DataDir string // JetStream's folder
	// Keyring with the credentials that may connect; nil lets everybody in, which
	// is for tests on loopback only.
	Keyring *Keyring
	// Layout of the streams, which a broker with a keyring makes or brings up to
	// date itself before it is ready: no key may. nil leaves that to the process.
	Layout *Layout
	// TLS is what the listener shows; nil: it speaks in clear. With a keyring nobody
	// gets past the handshake who does not hold one of its keys.
	TLS *tls.Config
	// Quota bounds what each bay of the keyring may say; zero: no bound.
	Quota Quota
	// NoSync leaves syncing to the operating system: for benchmarks.
	NoSync bool
	Logger *slog.Logger
}

// Broker is a running embedded nats-server.
type Broker struct {
	server  *server.Server
	keyring *Keyring
	options *server.Options
	log     *slog.Logger
	failed  chan struct{} // closed when the disk refused a write
	applied string        // the accounts in force
	granted []Grant       // of the keyring at the last look, those of bays that are cut off with them
	known   known         // keys that get past the handshake
	meter   *meter        // what bays say
}

// StartBroker starts the embedded broker and returns when it takes connections.
func StartBroker(o BrokerOptions) (*Broker, error) {
	log := o.Logger
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	host, portText, err := net.SplitHostPort(o.Listen)
	if err != nil {
		return nil, fmt.Errorf("broker listen address %q: %w", o.Listen, err)
	}
	port, err := strconv.Atoi(portText)
	if err != nil {
		return nil, fmt.Errorf("broker listen address %q: port is not a number", o.Listen)
	}
	if port == 0 {
		port = server.RANDOM_PORT
	} else if l, err := net.Listen("tcp", o.Listen); err != nil {
		// The server would only say so in its log, and never become ready.
		return nil, fmt.Errorf("broker: %w: stop what uses the port or choose another one", err)
	} else {
		l.Close()
	}
	dir, err := filepath.Abs(o.DataDir)
	if err != nil {
		return nil, fmt.Errorf("broker: %w", err)
	}
	if err := writable(dir); err != nil {
		return nil, err
	}
	b := &Broker{keyring: o.Keyring, log: log, failed: make(chan struct{}), meter: newMeter(o.Quota)}
	b.options = &server.Options{
		ServerName: "fairlead", Host: host, Port: port, JetStream: true, StoreDir: dir,
		SyncAlways: !o.NoSync, NoSigs: true, MaxPayload: 1 << 20,
		JetStreamMaxStore: 1 << 40, JetStreamMaxMemory: 256 << 20,
		WriteDeadline: 10 * time.Second,
	}
	if o.TLS != nil {
		b.options.TLSConfig, b.options.TLS, b.options.TLSTimeout = o.TLS, true, 10
		if b.keyring != nil {
			b.options.TLSConfig = b.known.listen(o.TLS)
		}
	}
	var keeper *keeper
	if b.keyring != nil {
		if err := adopt(dir); err != nil {
			return nil, fmt.Errorf("broker: %w", err)
		}
		if keeper, err = newKeeper(); err != nil {
			return nil, fmt.Errorf("broker: %w", err)
		}
		text, problem := b.accounts(keeper.grant)
		if problem != nil {
			log.Error("some keys are cut off", "error", problem)
		}
		if err := b.take(b.options, text); err != nil {
			return nil, fmt.Errorf("broker: %w", err)
		}
	}
	if b.server, err = server.NewServer(b.options); err != nil {
		return nil, fmt.Errorf("broker: %w", err)
	}
	b.server.SetLoggerV2(&slogAdapter{log: log, often: seldom(), failed: sync.OnceFunc(func() { close(b.failed) })}, false, false, false)
	b.server.Start()
	if !b.server.ReadyForConnections(30 * time.Second) {
		b.server.Shutdown()
		b.server.WaitForShutdown()
		return nil, errors.New("broker: not ready after 30 s: see its log for the reason")
	}
	if !b.server.JetStreamEnabled() {
		b.server.Shutdown()
		b.server.WaitForShutdown()
		if err := writable(dir); err != nil {
			return nil, err
		}
		return nil, &FolderError{dir, errors.New("JetStream did not start in it: its reason is in the log")}
	}
	if b.keyring == nil {
		return b, nil
	}
	if o.Layout != nil {
		err = keeper.declare(b.server, *o.Layout)
	}
	if err == nil {
		err = b.refuse()
	}
	if err == nil { // from here on without the keeper
		var unapplied *notApplied
		if _, problem := b.applyKeys(time.Now()); errors.As(problem, &unapplied) {
			err = problem
		}
	}
	if err != nil {
		b.Stop()
		return nil, fmt.Errorf("broker: %w", err)
	}
	return b, nil
}

// URL is where clients connect.
func (b *Broker) URL() string { return b.server.ClientURL() }

// Floods are the bays that said too much within the last hour and were cut off.
func (b *Broker) Floods() []Flood { return b.meter.floods(time.Now()) }

// Full is how much of its bound in bytes a stream has taken, 0 to 1; 0 where it has
// no bound or is not there.
func (b *Broker) Full(name string) float64 {
	all, err := b.server.Jsz(&server.JSzOptions{Accounts: true, Streams: true, Config: true})
	if err != nil {
		return 0
	}
	for _, account := range all.AccountDetails {
		for _, s := range account.Streams {
			if s.Name == name && s.Config != nil && s.Config.MaxBytes > 0 {
				return float64(s.State.Bytes) / float64(s.Config.MaxBytes)
			}
		}
	}
	return 0
}

// Dir is JetStream's folder.
func (b *Broker) Dir() string { return b.options.StoreDir }

// Connections is the number of clients now.
func (b *Broker) Connections() int { return b.server.NumClients() }

// Answers says whether the broker speaks to who connects.
func (b *Broker) Answers(ctx context.Context) error {
	var d net.Dialer
	c, err := d.DialContext(ctx, "tcp", b.server.Addr().String())
	if err != nil {
		return err
	}
	defer c.Close()
	if at, ok := ctx.Deadline(); ok {
		c.SetReadDeadline(at)
	}
	_, err = io.ReadFull(c, make([]byte, len("INFO"))) // it speaks first
	return err
}

// Stop ends the broker and waits for its files to be closed.
func (b *Broker) Stop() {
	b.server.Shutdown()
	b.server.WaitForShutdown()
}
