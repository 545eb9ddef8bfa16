package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"fairlead/deploy/engine"
	"fairlead/deploy/engine/chdb"
	"fairlead/deploy/engine/serve"
	"fairlead/ingest/log/alive"
)

// grace is how long running statements may take to end when the engine is told to.
const grace = 2 * time.Second

// serveEngine runs the engine until ctx ends. ready is called once, when statements are taken.
func serveEngine(ctx context.Context, o options, log *slog.Logger, ready func(net.Addr)) error {
	var statements alive.Part
	go alive.Keep(ctx, log, alive.Check{Name: "statements", Do: statements.Turns})
	if o.sessions < 1 {
		return fmt.Errorf("--sessions %d: at least one statement has to be able to run", o.sessions)
	}
	memory, err := bytes("memory", o.memory)
	if err != nil {
		return err
	}
	listener, err := listen(o.listen)
	if err != nil {
		return err
	}
	defer listener.Close()
	path := o.library
	if path == "" {
		if path, err = engine.FindLibrary(); err != nil {
			return err
		}
	}
	dir, err := openFolder(o.data)
	if err != nil {
		return err
	}
	defer dir.close()
	if o.tokenFile == "" {
		o.tokenFile = filepath.Join(dir.path, "token")
	}
	secret, err := engine.EnsureToken(o.tokenFile)
	if err != nil {
		return err
	}
	config, err := writeConfig(dir.path, memory)
	if err != nil {
		return err
	}
	lib, err := chdb.Load(path)
	if err != nil {
		return err
	}
	pool, err := serve.NewPool(lib, sessionArgs(config, dir.path, memory), o.database, o.sessions, memory)
	if errors.Is(err, chdb.ErrConnect) {
		return fmt.Errorf("%w on %s: it gives no reason; look for a full or read-only disk, and for files of another "+
			"program or of a newer engine in the folder", err, dir.path)
	}
	if err != nil {
		return err
	}
	registry := prometheus.NewRegistry()
	registry.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	temp := filepath.Join(dir.path, "tmp")
	if err := os.MkdirAll(temp, 0o700); err != nil {
		return fmt.Errorf("folder for long bodies: %w", err)
	}
	if o.users == "" {
		o.users = filepath.Join(dir.path, "users")
	}
	asked, err := openStatements(filepath.Join(dir.path, "statements.log"))
	if err != nil {
		return err
	}
	defer asked.Close()
	handler, err := serve.New(pool, serve.Config{Token: secret, Users: o.users,
		Statements: slog.New(slog.NewJSONHandler(asked, nil)), TempDir: temp, Log: log, Registry: registry})
	if err != nil {
		return err
	}
	server := &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       5 * time.Minute,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	log.Info("engine is ready", "addr", listener.Addr().String(), "data", dir.path, "library", path, "memory", strconv.FormatUint(memory, 10))
	statements.Is(pool.Answers)
	ready(listener.Addr())

	select {
	case err := <-failed:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	return stop(server, pool, log)
}

// stop lets running statements end, then closes the engine. What does not end in time is left to the end of
// the process, which the engine survives: acknowledged rows are on the disk.
func stop(server *http.Server, pool *serve.Pool, log *slog.Logger) error {
	ctx, cancel := context.WithTimeout(context.Background(), grace)
	defer cancel()
	if err := server.Shutdown(ctx); err != nil {
		log.Warn("statements were still running at the end", "error", err)
		_ = server.Close()
		return nil
	}
	pool.Close()
	return nil
}

// listen takes the port first: a port in use is the most usual trouble, and costs nothing to find out.
func listen(addr string) (net.Listener, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, fmt.Errorf("--listen %q: %w; write it as 127.0.0.1:8123", addr, err)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, fmt.Errorf("--listen %q: only a loopback address is served, such as 127.0.0.1:8123; "+
			"to reach ClickHouse from other machines run a server of it", addr)
	}
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, fmt.Errorf("--listen: %w; is another engine running there? Port 0 takes a free one", err)
	}
	return l, nil
}
