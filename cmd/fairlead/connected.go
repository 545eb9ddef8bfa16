package main

import (
	"context"
	"fmt"
	"time"

	"github.com/nats-io/nats.go"
)

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
