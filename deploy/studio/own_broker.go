package studio

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/watch"
)

// askBroker asks a broker that this studio does not run, over one connection that is
// kept: its node has to answer, and once its log was seen, that too. A key that may not
// ask the log never sees it, which is no trouble of the broker.
func (c *Config) askBroker() watch.Probe {
	var mu sync.Mutex
	var nc *nats.Conn
	var js jetstream.JetStream
	seen := false
	return func(ctx context.Context) error {
		mu.Lock()
		defer mu.Unlock()
		if nc == nil {
			var err error
			if nc, js, err = stream.Connect(c.Link(ToolsKey, stream.Place{})); err != nil {
				nc = nil
				return fmt.Errorf("%s can't be reached: %w", c.BrokerURL(), err)
			}
		}
		if err := nc.FlushWithContext(ctx); err != nil {
			return fmt.Errorf("%s does not answer: %w", c.BrokerURL(), err)
		}
		_, err := js.Stream(ctx, stream.Visits)
		if err == nil || errors.Is(err, jetstream.ErrStreamNotFound) {
			seen = true
			return nil
		}
		if seen {
			return fmt.Errorf("%s answers, its log does not: %w", c.BrokerURL(), err)
		}
		return nil
	}
}
