// Package expose serves a process's own metrics, and profiles for debugging,
// on an address of its own.
package expose

import (
	"context"
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

// Serve answers /metrics, /healthz and /debug/pprof/ until ctx ends: /healthz by
// 503 and the reason while a check fails. It returns once the address is bound;
// an address that is taken is an error that says so.
func Serve(ctx context.Context, listen string, r *prometheus.Registry, log *slog.Logger, checks ...alive.Check) (addr string, err error) {
	l, err := net.Listen("tcp", listen)
	if err != nil {
		return "", fmt.Errorf("metrics: %w: choose another metrics address", err)
	}
	mux := http.NewServeMux()
	mux.Handle("/metrics", promhttp.HandlerFor(r, promhttp.HandlerOpts{Registry: r, ErrorHandling: promhttp.ContinueOnError,
		MaxRequestsInFlight: 4, Timeout: 20 * time.Second}))
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
	mux.Handle("/debug/pprof/", Hosts(profiles))
	server := &http.Server{Handler: mux, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, IdleTimeout: time.Minute,
		MaxHeaderBytes: 16 << 10}
	go func() {
		<-ctx.Done()
		server.Close()
	}()
	go func() {
		if err := server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			log.Error("metrics are not served any more", "error", err)
		}
	}()
	return l.Addr().String(), nil
}
