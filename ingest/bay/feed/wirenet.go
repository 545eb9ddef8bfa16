package feed

import (
	"context"
	"errors"
	"net"
	"sync"
)

// callTCP reads from a device that waits to be called.
func callTCP(address string) opener {
	return func(ctx context.Context, w *Wire) error {
		var d net.Dialer
		c, err := d.DialContext(ctx, "tcp", address)
		if err != nil {
			return err
		}
		defer until(ctx, c)()
		return w.stream(ctx, c)
	}
}

// mostCalls is how many devices may be connected to one feed at once.
const mostCalls = 16

// listenTCP reads from devices that call.
func listenTCP(address string) opener {
	return func(ctx context.Context, w *Wire) error {
		l, err := net.Listen("tcp", address)
		if err != nil {
			return err
		}
		ctx, cancel := context.WithCancelCause(ctx)
		defer cancel(nil)
		defer until(ctx, l)()
		w.set(StateOK, "")
		var calls sync.WaitGroup
		defer calls.Wait()
		free := make(chan struct{}, mostCalls)
		for {
			c, err := l.Accept()
			if err != nil {
				cancel(err)
				return context.Cause(ctx)
			}
			select {
			case free <- struct{}{}:
			default:
				c.Close()
				w.cfg.Log.Warn("a connection was refused: too many are open", "from", c.RemoteAddr(), "most", mostCalls)
				continue
			}
			calls.Go(func() {
				defer func() { <-free }()
				defer until(ctx, c)()
				var broken *emitError
				if err := w.stream(ctx, c); errors.As(err, &broken) {
					cancel(err)
				} else if err != nil && ctx.Err() == nil {
					w.cfg.Log.Warn("a device's connection broke", "from", c.RemoteAddr(), "error", err)
				}
			})
		}
	}
}

// mostDatagram is the longest that there can be.
const mostDatagram = 64 << 10

// listenUDP reads datagrams of one or more lines each.
func listenUDP(address string) opener {
	return func(ctx context.Context, w *Wire) error {
		c, err := net.ListenPacket("udp", address)
		if err != nil {
			return err
		}
		defer until(ctx, c)()
		take := w.messages(ctx)
		buf := make([]byte, mostDatagram)
		for {
			n, _, err := c.ReadFrom(buf)
			if err != nil {
				return err
			}
			if err := take(buf[:n]); err != nil {
				return err
			}
		}
	}
}
