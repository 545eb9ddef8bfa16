package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os/user"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/spf13/cobra"

	"fairlead/deploy/studio"
	"fairlead/ingest/log/alive"
	"fairlead/ingest/log/expose"
)

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

// withTool adds the flags of a tool that looks at a running studio.
func withTool(c *cobra.Command) {
	withConfig(c)
	c.Flags().String("log", "warn", "least level to log")
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

// show serves a process's metrics and says where; it goes on without them.
func (p *running) show(ctx context.Context, name string, r *prometheus.Registry, checks ...alive.Check) {
	at, err := expose.Serve(ctx, p.metrics, r, p.log, checks...)
	if err == nil {
		err = p.config.SayAddress(name, at)
	}
	if err != nil {
		p.log.Warn("no metrics", "error", err)
	}
}

// userName is who runs the program.
func userName() string {
	if u, err := user.Current(); err == nil {
		return u.Username
	}
	return "unknown"
}
