package stream

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// A node of a cluster that lost its peers goes on taking connections, and
// answers nothing that the log is asked, or what it knew before: to a client all
// seems well. Nor does it help to try nodes in turn while leaders are chosen, for
// one may sit at the wrong one when they are. So who gets no answer asks all nodes
// at once, and goes to the one that gives it.

const (
	// askEvery and askFor are how a connection is tried.
	askEvery = 700 * time.Millisecond
	askFor   = time.Second
)

// Question asks a node what only one with a majority of its peers beside it answers.
type Question func(ctx context.Context, nc *nats.Conn) error

// Seek asks all nodes of a connection's cluster at once and moves the connection to
// the first that answers, if that is another one. It says whether any did, within
// askFor; of a broker without peers nothing is asked: there is nowhere else to go.
func Seek(ctx context.Context, nc *nats.Conn, ask Question) bool {
	own, all := nc.ConnectedUrl(), nc.Servers()
	if len(all) < 2 {
		return true
	}
	ctx, cancel := context.WithTimeout(ctx, askFor)
	defer cancel()
	var asked sync.WaitGroup
	defer asked.Wait()
	defer cancel() // before the wait: who is slower has nothing to add
	found := make(chan string, len(all))
	for _, node := range all {
		asked.Go(func() {
			if tried(ctx, nc, node, node == own, ask) {
				found <- node
			}
		})
	}
	ended := make(chan struct{})
	go func() { asked.Wait(); close(ended) }()
	select {
	case node := <-found:
		return node == own || move(nc, node)
	case <-ended:
	}
	select {
	case node := <-found:
		return node == own || move(nc, node)
	default:
		return false
	}
}

// tried asks one node: over the connection itself where it leads there, else over
// one like it that is made for that.
func tried(ctx context.Context, nc *nats.Conn, node string, own bool, ask Question) bool {
	if own {
		return ask(ctx, nc) == nil
	}
	o := nc.Opts
	o.Url, o.Servers, o.Timeout, o.IgnoreDiscoveredServers = node, nil, askFor, true
	o.AllowReconnect, o.RetryOnFailedConnect, o.ReconnectToServerCB = false, false, nil
	o.ClosedCB, o.DisconnectedErrCB, o.ReconnectedCB, o.ReconnectErrCB = nil, nil, nil, nil
	o.AsyncErrorCB = func(*nats.Conn, *nats.Subscription, error) {}
	o.CustomDialer = dialer(func(network, address string) (net.Conn, error) {
		c, err := (&net.Dialer{}).DialContext(ctx, network, address)
		if err == nil {
			context.AfterFunc(ctx, func() { c.SetDeadline(time.Now()) }) // a node that stands still takes it and says nothing
		}
		return c, err
	})
	short, err := o.Connect()
	if err != nil {
		return false
	}
	defer short.Close()
	return ask(ctx, short) == nil
}

type dialer func(network, address string) (net.Conn, error)

func (d dialer) Dial(network, address string) (net.Conn, error) { return d(network, address) }

// targets are the nodes to which connections are on their way.
var targets sync.Map // *nats.Conn -> *target

// target is the node that a connection goes to next; empty: any.
type target struct {
	mu   sync.Mutex
	node string
}

// next gives the node away, once: if it does not take us, any will do.
func (t *target) next(pool []nats.Server, _ nats.ServerInfo) (*nats.Server, time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	node := t.node
	t.node = ""
	for i := range pool {
		if node != "" && pool[i].URL.String() == node {
			return &pool[i], 0
		}
	}
	return nil, 0
}

func move(nc *nats.Conn, node string) bool {
	if t, ok := targets.Load(nc); ok {
		t := t.(*target)
		t.mu.Lock()
		t.node = node
		t.mu.Unlock()
	}
	return nc.ForceReconnect() == nil
}

// inProcess is the broker's code for a message that it has under the same id and did
// not agree on with its peers: one that is cut off from them never will.
const inProcess = 10158

// Unanswered says whether an error is that of a node which does not answer for the log.
func Unanswered(err error) bool {
	var api jetstream.JetStreamError
	if errors.As(err, &api) && api.APIError() != nil && (api.APIError().Code == 503 || api.APIError().ErrorCode == inProcess) {
		return true // it knows of no leader, or is one that nobody follows
	}
	return errors.Is(err, errAlone) || errors.Is(err, context.DeadlineExceeded) || errors.Is(err, nats.ErrTimeout) ||
		errors.Is(err, nats.ErrNoResponders) ||
		errors.Is(err, jetstream.ErrAsyncPublishTimeout) || errors.Is(err, jetstream.ErrNoStreamResponse)
}

// Takes is the question of who may only publish: whether the log takes a message.
// What is refused for another reason is answered, too.
func Takes(m Message) Question {
	return func(ctx context.Context, nc *nats.Conn) error {
		js, err := jetstream.New(nc)
		if err != nil {
			return err
		}
		if _, err = js.PublishMsg(ctx, m.wire(), jetstream.WithRetryAttempts(0)); err != nil && (Unanswered(err) || !nc.IsConnected()) {
			return err
		}
		return nil
	}
}

var errAlone = errors.New("it has no majority of its peers beside it")

// Agreed says whether the node that tells of a stream has a majority beside it
// that keeps up; always so where there is one copy. A node that is cut off goes
// on telling what it knew.
func Agreed(info *jetstream.StreamInfo) bool {
	if info.Config.Replicas < 2 {
		return true
	}
	if info.Cluster == nil || info.Cluster.Leader == "" {
		return false
	}
	with := 1
	for _, peer := range info.Cluster.Replicas {
		if peer.Current && !peer.Offline && peer.Active < 3*time.Second {
			with++
		}
	}
	return 2*with > info.Config.Replicas
}

// tells is the question of the hub: whether the log tells of a stream.
func tells(name string) Question {
	return func(ctx context.Context, nc *nats.Conn) error {
		js, err := jetstream.New(nc)
		if err != nil {
			return err
		}
		s, err := js.Stream(ctx, name)
		if err == nil && !Agreed(s.CachedInfo()) {
			err = errAlone
		}
		return err
	}
}

// KeepAnswered asks the log of a stream now and then, and looks for a node that
// answers when it gets no answer twice in a row. It needs the hub's rights, and
// ends with ctx.
func KeepAnswered(ctx context.Context, nc *nats.Conn, name string, log *slog.Logger) {
	ask, silent := tells(name), 0
	for {
		select {
		case <-ctx.Done():
			return
		case <-time.After(askEvery):
		}
		short, cancel := context.WithTimeout(ctx, askFor)
		err := ask(short, nc)
		cancel()
		switch {
		case ctx.Err() != nil:
			return
		case err != nil && Unanswered(err) && nc.IsConnected():
			silent++
		default:
			silent = 0
		}
		if silent >= 2 && len(nc.Servers()) > 1 {
			if at := nc.ConnectedUrlRedacted(); Seek(ctx, nc, ask) {
				log.Warn("the broker's node took connections and did not answer for the log: another one does", "node", at)
				silent = 0
			}
		}
	}
}
