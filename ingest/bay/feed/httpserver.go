package feed

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"time"
)

// DefaultHTTPAddress is where a bay's HTTP feeds listen: this machine only.
const DefaultHTTPAddress = "127.0.0.1:7461"

// Handler serves a bay's HTTP feeds, each at /feeds/NAME.
func Handler(feeds map[string]*HTTP) http.Handler {
	mux := http.NewServeMux()
	for name, f := range feeds {
		mux.Handle("/feeds/"+name, f)
	}
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		writeProblem(w, http.StatusNotFound, "no such feed: send lines to /feeds/NAME, as the configuration names it")
	})
	return mux
}

// Listen opens the address for Serve. An address that others can reach needs a
// token on every feed.
func Listen(address string, feeds map[string]*HTTP) (net.Listener, error) {
	if address == "" {
		address = DefaultHTTPAddress
	}
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return nil, fmt.Errorf("address %q of the HTTP feeds: %w; write it as 127.0.0.1:7461", address, err)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		for name, f := range feeds {
			if f.cfg.Token == "" {
				return nil, fmt.Errorf("address %q of the HTTP feeds can be reached from outside, and feed %s has no token: set one, or listen on "+
					"127.0.0.1", address, name)
			}
		}
	}
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("listen for HTTP feeds: %w; is another collector running?", err)
	}
	return l, nil
}

// Serve answers requests until ctx ends and the ones under way are answered.
func Serve(ctx context.Context, l net.Listener, feeds map[string]*HTTP) error {
	server := &http.Server{Handler: Handler(feeds), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second,
		IdleTimeout: time.Minute, MaxHeaderBytes: 16 << 10}
	done := make(chan error, 1)
	go func() { done <- server.Serve(l) }()
	select {
	case err := <-done:
		return fmt.Errorf("serve HTTP feeds: %w", err)
	case <-ctx.Done():
	}
	// The requests' own context must outlive ctx, or a line could be durable
	// and its sender told otherwise.
	end, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	err := server.Shutdown(end)
	if err != nil {
		server.Close()
	}
	<-done
	return errors.Join(ctx.Err(), err)
}
