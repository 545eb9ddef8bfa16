package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"fairlead/deploy/studio"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

// version is what the build says of itself.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 {
			return s.Value[:12]
		}
	}
	return "development"
}

// withConfig adds the flag that names the configuration.
func withConfig(c *cobra.Command) {
	c.Flags().StringP("config", "c", "studio.yaml", "configuration file of the studio")
}

// loadConfig reads the configuration that --config names. A configuration that
// can't be used is wrong use: exit 2.
func loadConfig(c *cobra.Command) (*studio.Config, error) {
	file, err := c.Flags().GetString("config")
	if err != nil {
		return nil, err
	}
	config, err := studio.Load(file)
	if err != nil {
		return nil, &exitError{2, err}
	}
	return config, nil
}

// withProcess adds the flags of every process that runs on.
func withProcess(c *cobra.Command) {
	withConfig(c)
	c.Flags().String("metrics", "", "host:port for /metrics of this process (default: a free port of the loopback)")
	c.Flags().String("log", "info", "least level to log: debug, info, warn, error")
	c.Flags().Bool("with-parent", false, "end when standard input closes")
	c.Flags().MarkHidden("with-parent")
}

// running is what a running process has in hand.
type running struct {
	config  *studio.Config
	log     *slog.Logger
	metrics string
}

// startProcess reads the common flags. The returned context also ends with the
// parent process when it asked for that.
func startProcess(c *cobra.Command, name string) (context.Context, *running, error) {
	config, err := loadConfig(c)
	if err != nil {
		return nil, nil, err
	}
	return startProcessWith(c, name, config)
}

// startProcessWith is startProcess for a configuration that is at hand.
func startProcessWith(c *cobra.Command, name string, config *studio.Config) (context.Context, *running, error) {
	level := slog.LevelInfo
	text, _ := c.Flags().GetString("log")
	if err := level.UnmarshalText([]byte(text)); err != nil {
		return nil, nil, &usageError{fmt.Errorf("--log %q: use debug, info, warn or error", text)}
	}
	log := slog.New(slog.NewTextHandler(c.ErrOrStderr(), &slog.HandlerOptions{Level: level})).With("process", name)
	ctx := c.Context()
	if bound, _ := c.Flags().GetBool("with-parent"); bound {
		var cancel context.CancelFunc
		ctx, cancel = context.WithCancel(ctx)
		in := c.InOrStdin()
		go func() {
			io.Copy(io.Discard, in)
			cancel()
		}()
	}
	metrics, _ := c.Flags().GetString("metrics")
	if metrics == "" {
		metrics = "127.0.0.1:0"
	}
	return ctx, &running{config: config, log: log, metrics: metrics}, nil
}

// openStore connects to the store that the configuration names.
func openStore(config *studio.Config) (*store.Store, error) {
	dsn, err := config.StoreDSN()
	if err != nil {
		return nil, err
	}
	return store.Open(dsn)
}

// answering says whether a store answers, and what to try when it does not.
func answering(ctx context.Context, s *store.Store) error {
	if err := s.Ping(ctx); err != nil {
		return fmt.Errorf("%w: is `fairlead up` (or the ClickHouse server) running?", err)
	}
	return nil
}

// toolsLink is how a tool reaches the log: it looks and writes nothing.
func toolsLink(config *studio.Config, name string, log *slog.Logger) stream.Link {
	l := config.Link(studio.ToolsKey, stream.Place{})
	l.Name, l.Logger = name, log
	return l
}

// fileExists says whether a path is there.
func fileExists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// waitForStore opens the store once its address is known.
func waitForStore(ctx context.Context, p *running) (*store.Store, error) {
	for said := false; ; said = true {
		s, err := openStore(p.config)
		if err == nil || !errors.Is(err, os.ErrNotExist) {
			return s, err
		}
		if !said {
			p.log.Info("waiting for the engine's first start", "error", err)
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(200 * time.Millisecond):
		}
	}
}
