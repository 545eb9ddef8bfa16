// Package expose serves a process's own metrics, and profiles for debugging,
// on an address of its own.
package expose

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/http/pprof"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"fairlead/ingest/log/alive"
)

// NewRegistry makes a registry with what Go and the system tell of a process,
// and the program's version.
func NewRegistry(process, version string) *prometheus.Registry {
	r := prometheus.NewRegistry()
	info := prometheus.NewGauge(prometheus.GaugeOpts{Namespace: "fairlead", Name: "build_info", Help: "1, with the process and its version.",
		ConstLabels: prometheus.Labels{"process": process, "version": version}})
	info.Set(1)
	r.MustRegister(info, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return r
}

// checkWithin is how long a check of /healthz may take.
const checkWithin = 2 * time.Second

// A Door is how metrics and profiles are served to others: by TLS where that is
// not nil, and only to who shows the token where there is one. Whether the process
// gets on is said without.
type Door struct {
	TLS   *tls.Config
	Token string
}

// Serve serves without a door, for who is on this machine.
func Serve(ctx context.Context, listen string, r *prometheus.Registry, log *slog.Logger, checks ...alive.Check) (addr string, err error) {
	return Door{}.Serve(ctx, listen, r, log, checks...)
}

// opens lets through who shows the token.
func (d Door) opens(next http.Handler) http.Handler {
	if d.Token == "" {
		return next
	}
	want := sha256.Sum256([]byte("Bearer " + d.Token))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		shown := sha256.Sum256([]byte(r.Header.Get("Authorization")))
		if subtle.ConstantTimeCompare(shown[:], want[:]) != 1 {
			w.Header().Set("WWW-Authenticate", `Bearer realm="metrics"`)
			http.Error(w, "send the token of DATA/keys/metrics.token as `Authorization: Bearer TOKEN`", http.StatusUnauthorized)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// Serve answers /metrics, /healthz and /debug/pprof/ until ctx ends: /healthz by
// 503 and the reason while a check fails. It returns once the address is bound;
// an address that is taken is an error that says so.
func (d Door) Serve(ctx context.Context, listen string, r *prometheus.Registry, log *slog.Logger,
	checks ...alive.Check) (addr string, err error) {
	l, err := net.Listen("tcp", listen)
	if err != nil {
		return "", fmt.Errorf("metrics: %w: choose another metrics address", err)
	}
	addr = l.Addr().String()
	if d.TLS != nil {
		l = tls.NewListener(l, d.TLS)
	}
	mux := http.NewServeMux()
	mux.Handle("/metrics", d.opens(promhttp.HandlerFor(r, promhttp.HandlerOpts{Registry: r, ErrorHandling: promhttp.ContinueOnError,
		MaxRequestsInFlight: 4, Timeout: 20 * time.Second})))
	mux.HandleFunc("/healthz", func(w http.ResponseWriter, r *http.Request) {
		if why := alive.First(r.Context(), checkWithin, checks...); why != "" {
			http.Error(w, why, http.StatusServiceUnavailable)
			return
		}
		fmt.Fprintln(w, "ok")
	})
	profiles := http.NewServeMux()
	profiles.HandleFunc("/debug/pprof/", pprof.Index)
	profiles.HandleFunc("/debug/pprof/profile", pprof.Profile)
	profiles.HandleFunc("/debug/pprof/trace", pprof.Trace)
	profiles.HandleFunc("/debug/pprof/symbol", pprof.Symbol)
	mux.Handle("/debug/pprof/", d.opens(Hosts(profiles)))
	server := &http.Server{Handler: mux, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, IdleTimeout: time.Minute,
		MaxHeaderBytes: 16 << 10, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug)} // garbage is no news
	go func() {
		<-ctx.Done()
		server.Close()
	}()
	go func() {
		if err := server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			log.Error("metrics are not served any more", "error", err)
		}
	}()
	return addr, nil
}
