package stream

import (
	"fmt"
	"log/slog"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/log/sparing"
)

// Link says how to reach the broker.
type Link struct {
	URL string
	// SeedFile holds an nkey seed (see Keyring); empty for a broker without credentials.
	SeedFile string
	// Authority is a file with the certificate of the hub's authority; empty: what
	// stands in SeedFile, which a key that was made for a hub with TLS holds.
	Authority string
	// Clear says that nothing that is sent need be hidden: a broker of another
	// machine may be spoken to without TLS. Inside says that this machine's may, whatever
	// stands in SeedFile.
	Clear, Inside bool
	// CredsFile is a NATS credentials file, for brokers that are not ours.
	CredsFile string
	// Name shows in the broker's list of connections.
	Name string
	// Inbox is the prefix of reply subjects that the credential may use.
	Inbox string
	// API is where the connection's account finds the log's interface; empty: where
	// it usually is. See ToolsAPI.
	API string
	// Far says that a network of unknown pace lies between: what is sent may stand in line
	// before it for many seconds, and a word of the broker's behind it.
	Far bool
	// Logger hears of lost and restored connections.
	Logger *slog.Logger
}

// maxPending bounds what one connection has in flight to the log.
const maxPending = 1024

// ackWithin is how long the log may take to acknowledge a message. What comes
// later is sent again, and swallowed as a repeat.
const ackWithin = 2500 * time.Millisecond

// farWithin is how long it may take over a network of unknown pace, and how long one
// may be without a word before it counts as cut.
const farWithin = 30 * time.Second

// Connect opens a connection that comes back by itself, for ever: it does not
// fail because the broker is away now. JetStream calls fail while it is away.
func Connect(l Link) (*nats.Conn, jetstream.JetStream, error) {
	log := l.Logger
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	tell, to, refusals := &failures{}, &target{}, seldom()
	// A node that stands still keeps its connections: four seconds without a word, and another one is tried.
	ping, acked := 2*time.Second, ackWithin
	if l.Far {
		ping, acked = farWithin/2, farWithin
	}
	options := []nats.Option{
		nats.Name(l.Name), nats.MaxReconnects(-1), nats.RetryOnFailedConnect(true),
		nats.ReconnectWait(200 * time.Millisecond), nats.ReconnectJitter(100*time.Millisecond, 500*time.Millisecond),
		nats.PingInterval(ping), nats.MaxPingsOutstanding(1), nats.Timeout(ping),
		// A full buffer is an error at once rather than a silent queue: the journal is the queue.
		nats.ReconnectBufSize(-1),
		nats.ReconnectToServer(to.next), nats.ClosedHandler(func(nc *nats.Conn) { targets.Delete(nc) }),
		// A key may be given back after it was taken away: keep trying.
		nats.IgnoreAuthErrorAbort(),
		nats.DisconnectErrHandler(func(_ *nats.Conn, err error) {
			if err != nil {
				log.Warn("broker connection lost", "url", l.URL, "error", err)
			}
		}),
		nats.ReconnectErrHandler(func(nc *nats.Conn, err error) { tell.failed(log, l.URL, err) }),
		nats.ReconnectHandler(func(nc *nats.Conn) { log.Info("broker connection restored", "url", nc.ConnectedUrlRedacted()) }),
		nats.ErrorHandler(func(_ *nats.Conn, s *nats.Subscription, err error) {
			subject := ""
			if s != nil {
				subject = s.Subject
			}
			if left, ok := refusals.Take(subject+" "+fmt.Sprint(err), time.Now()); ok {
				log.Warn("broker refused", "subject", subject, "error", err, sparing.LeftOut, left)
			}
		}),
	}
	if l.Inbox != "" {
		options = append(options, nats.CustomInboxPrefix(l.Inbox))
	}
	if l.SeedFile != "" {
		key, err := nats.NkeyOptionFromSeed(l.SeedFile)
		if err != nil {
			return nil, nil, fmt.Errorf("broker key %s: %w", l.SeedFile, err)
		}
		options = append(options, key)
	}
	if l.CredsFile != "" {
		options = append(options, nats.UserCredentials(l.CredsFile))
	}
	secure, err := l.secure()
	if err != nil {
		return nil, nil, err
	}
	if secure != nil {
		options = append(options, nats.Secure(secure))
	}
	nc, err := nats.Connect(l.URL, options...)
	if err != nil {
		return nil, nil, fmt.Errorf("connect to broker %s: %w", l.URL, err)
	}
	targets.Store(nc, to)
	jsOptions := []jetstream.JetStreamOpt{jetstream.WithPublishAsyncMaxPending(maxPending), jetstream.WithPublishAsyncTimeout(acked),
		jetstream.WithDefaultTimeout(3 * time.Second)}
	var js jetstream.JetStream
	if l.API != "" {
		js, err = jetstream.NewWithAPIPrefix(nc, l.API, jsOptions...)
	} else {
		js, err = jetstream.New(nc, jsOptions...)
	}
	if err != nil {
		nc.Close()
		return nil, nil, fmt.Errorf("connect to broker %s: %w", l.URL, err)
	}
	return nc, js, nil
}
