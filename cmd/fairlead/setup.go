package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/user"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/spf13/cobra"

	"fairlead/deploy/studio"
	"fairlead/ingest/log/alive"
	"fairlead/ingest/log/expose"
	"fairlead/processors/hub/store"
)

// oneName is for commands about one thing: example is what a person would type.
func oneName(what, example string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) == 0 || args[0] == "":
			return use(fmt.Errorf("%s is missing: `%s %s`", what, c.CommandPath(), example))
		case len(args) > 1:
			return use(fmt.Errorf("one %s is wanted, and there are %d: put quotes round it, `%s %s`", what, len(args), c.CommandPath(), example))
		}
		return nil
	}
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

// withTool adds the flags of a tool that looks at a running studio.
func withTool(c *cobra.Command) {
	withConfig(c)
	c.Flags().String("log", "warn", "least level to log")
}

// ofStudio lets a command do its work with the configuration that --config names.
func ofStudio(c *cobra.Command, do func(config *studio.Config, args []string) error) *cobra.Command {
	withConfig(c)
	c.RunE = func(c *cobra.Command, args []string) error {
		config, err := loadConfig(c)
		if err != nil {
			return err
		}
		return do(config, args)
	}
	return c
}

// storeAt opens the store at an address, or the configuration's where that is
// empty; it has to answer.
func storeAt(c *cobra.Command, dsn string) (*store.Store, error) {
	config := &studio.Config{}
	if dsn == "" {
		var err error
		if config, err = loadConfig(c); err != nil {
			return nil, err
		}
	}
	return config.OpenAt(c.Context(), dsn)
}

// withStoreAt adds the flag that names another store than the configuration's.
func withStoreAt(c *cobra.Command, dsn *string) {
	withConfig(c)
	c.Flags().StringVar(dsn, "clickhouse", os.Getenv("FAIRLEAD_CLICKHOUSE"),
		"`address` of the store instead of the configuration's (default: $FAIRLEAD_CLICKHOUSE)")
}

// asTool lets a command look at a running studio. It logs under its own name.
func asTool(c *cobra.Command, do func(ctx context.Context, p *running) error) *cobra.Command {
	withTool(c)
	return started(c, do)
}

// asProcess lets a command run on, as a process of the studio of its own name.
func asProcess(c *cobra.Command, do func(ctx context.Context, p *running) error) *cobra.Command {
	withProcess(c)
	return started(c, do)
}

func started(c *cobra.Command, do func(ctx context.Context, p *running) error) *cobra.Command {
	c.RunE = func(c *cobra.Command, args []string) error {
		ctx, p, err := startProcess(c, c.Name())
		if err != nil {
			return err
		}
		p.args = args
		return do(ctx, p)
	}
	return c
}

// running is what a running process has in hand.
type running struct {
	name    string
	args    []string
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
	log, err := logger(c, name)
	if err != nil {
		return nil, nil, err
	}
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
	return ctx, &running{name: name, config: config, log: log, metrics: metrics}, nil
}

// logger writes what a process says, from the level of --log on.
func logger(c *cobra.Command, name string) (*slog.Logger, error) {
	level := slog.LevelInfo
	text, _ := c.Flags().GetString("log")
	if err := level.UnmarshalText([]byte(text)); err != nil {
		return nil, use(fmt.Errorf("--log %q: use debug, info, warn or error", text))
	}
	return slog.New(slog.NewTextHandler(c.ErrOrStderr(), &slog.HandlerOptions{Level: level})).With("process", name), nil
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

// beat says that the process lives, and shows its metrics under its name.
func (p *running) beat(ctx context.Context) *prometheus.Registry {
	go alive.Keep(ctx, p.log)
	r := expose.NewRegistry(p.name, version())
	p.show(ctx, p.name, r)
	return r
}

// userName is who runs the program.
func userName() string {
	if u, err := user.Current(); err == nil {
		return u.Username
	}
	return "unknown"
}
