package stream

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// A node of a cluster that lost its peers goes on taking connections, and
// answers nothing that the log is asked: to a client all seems well. So who
// gets no answer while connected goes to another node.

const (
	// askEvery and askFor are how a connection is tried.
	askEvery = 700 * time.Millisecond
	askFor   = time.Second
	// movePause is the least time between two moves of a connection: an election
	// takes a few seconds, wherever one is connected.
	movePause = 4 * time.Second
)

var moves struct {
	sync.Mutex
	last map[*nats.Conn]time.Time
}

// Elsewhere moves a connection to another node of its cluster, and says whether
// it did: not where there is one node only, nor too soon after the last time.
func Elsewhere(nc *nats.Conn) bool {
	if !nc.IsConnected() || len(nc.Servers()) < 2 {
		return false
	}
	moves.Lock()
	defer moves.Unlock()
	for c := range moves.last {
		if c.IsClosed() {
			delete(moves.last, c)
		}
	}
	if moves.last == nil {
		moves.last = map[*nats.Conn]time.Time{}
	}
	if time.Since(moves.last[nc]) < movePause {
		return false
	}
	moves.last[nc] = time.Now()
	return nc.ForceReconnect() == nil
}

// Unanswered says whether an error is that of a node which does not answer for the log.
func Unanswered(err error) bool {
	var api jetstream.JetStreamError
	if errors.As(err, &api) && api.APIError() != nil && api.APIError().Code == 503 {
		return true // it knows of no leader
	}
	return errors.Is(err, errAlone) || errors.Is(err, context.DeadlineExceeded) || errors.Is(err, nats.ErrTimeout) ||
		errors.Is(err, nats.ErrNoResponders) ||
		errors.Is(err, jetstream.ErrAsyncPublishTimeout) || errors.Is(err, jetstream.ErrNoStreamResponse)
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
		if peer.Current && !peer.Offline && peer.Active < 5*time.Second {
			with++
		}
	}
	return 2*with > info.Config.Replicas
}

// KeepAnswered asks the log of a stream now and then, and moves the connection
// to another node when it gets no answer twice in a row. It needs the hub's
// rights, and ends with ctx.
func KeepAnswered(ctx context.Context, nc *nats.Conn, js jetstream.JetStream, name string, log *slog.Logger) {
	silent := 0
	for {
		select {
		case <-ctx.Done():
			return
		case <-time.After(askEvery):
		}
		short, cancel := context.WithTimeout(ctx, askFor)
		s, err := js.Stream(short, name)
		cancel()
		if err == nil && !Agreed(s.CachedInfo()) {
			err = errAlone
		}
		switch {
		case ctx.Err() != nil:
			return
		case err != nil && Unanswered(err) && nc.IsConnected():
			silent++
		default:
			silent = 0
		}
		if silent >= 2 {
			if at := nc.ConnectedUrlRedacted(); Elsewhere(nc) {
				log.Warn("the broker's node takes connections and does not answer for the log: trying another", "node", at)
				silent = 0
			}
		}
	}
}
