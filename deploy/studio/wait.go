package studio

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"time"
)

// WaitHealthy waits until an address answers 200.
func WaitHealthy(ctx context.Context, client *http.Client, url string, within time.Duration) error {
	for deadline := time.Now().Add(within); ; {
		resp, err := client.Get(url)
		if err == nil {
			resp.Body.Close()
			if resp.StatusCode == http.StatusOK {
				return nil
			}
			err = fmt.Errorf("status %s", resp.Status)
		}
		if time.Now().After(deadline) {
			return fmt.Errorf("%s does not answer after %s: %w: see the log lines above", url, within, err)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// FreeAddress is a loopback address with the wanted port when it is free (0:
// any), else with another.
func FreeAddress(port int) (string, error) {
	l, err := net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", port))
	if err != nil {
		if l, err = net.Listen("tcp", "127.0.0.1:0"); err != nil {
			return "", fmt.Errorf("no free port: %w", err)
		}
	}
	defer l.Close()
	return l.Addr().String(), nil
}
