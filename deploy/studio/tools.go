package studio

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/log/stream"
)

// ToolsLink is how a tool reaches the log: it looks and writes nothing.
func (c *Config) ToolsLink(name string, log *slog.Logger) stream.Link {
	l := c.Link(ToolsKey, stream.Place{})
	l.Name, l.Logger = name, log
	return l
}

// ConnectTool connects a tool to the log and waits until it is there. Whoever
// calls closes the connection.
func (c *Config) ConnectTool(ctx context.Context, name string, log *slog.Logger) (*nats.Conn, jetstream.JetStream, error) {
	nc, js, err := stream.Connect(c.ToolsLink(name, log))
	if err != nil {
		return nil, nil, err
	}
	if err := waitConnected(ctx, nc, c.BrokerURL()); err != nil {
		nc.Close()
		return nil, nil, err
	}
	return nc, js, nil
}

// waitConnected waits a few seconds for a tool's connection: a tool, unlike a
// process, gives up and says so.
func waitConnected(ctx context.Context, nc *nats.Conn, url string) error {
	for deadline := time.Now().Add(5 * time.Second); !nc.IsConnected(); {
		if time.Now().After(deadline) {
			err := nc.LastError()
			if err == nil {
				err = nats.ErrNoServers
			}
			return fmt.Errorf("broker %s: %w: is `fairlead up` or `fairlead broker` running, and is the key right?", url, err)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(20 * time.Millisecond):
		}
	}
	return nil
}
