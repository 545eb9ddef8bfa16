package frame

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os/user"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/spf13/cobra"

	"fairlead/deploy/release"
	"fairlead/deploy/studio"
	"fairlead/ingest/log/alive"
	"fairlead/ingest/log/expose"
	"fairlead/ingest/log/sparing"
)

// withProcess adds the flags of every process that runs on.
func withProcess(c *cobra.Command) {
	WithConfig(c)
	c.Flags().String("metrics", "", "host:port for /metrics of this process (default: a free port of the loopback)")
	c.Flags().String("log", "info", "least level to log: debug, info, warn, error")
	c.Flags().Bool("with-parent", false, "end when standard input closes")
	c.Flags().MarkHidden("with-parent")
}

// WithTool adds the flags of a tool that looks at a running studio.
func WithTool(c *cobra.Command) {
	WithConfig(c)
	c.Flags().String("log", "warn", "least level to log")
}

// AsTool lets a command look at a running studio. It logs under its own name.
func AsTool(c *cobra.Command, do func(ctx context.Context, p *Running) error) *cobra.Command {
	WithTool(c)
	return started(c, do)
}

// AsProcess lets a command run on, as a process of the studio of its own name.
func AsProcess(c *cobra.Command, do func(ctx context.Context, p *Running) error) *cobra.Command {
	withProcess(c)
	return started(c, func(ctx context.Context, p *Running) error {
		if err := p.Config.RefuseHalfSealed(); err != nil {
			return err
		}
		return do(ctx, p)
	})
}

func started(c *cobra.Command, do func(ctx context.Context, p *Running) error) *cobra.Command {
	c.RunE = func(c *cobra.Command, args []string) error {
		config, err := LoadConfig(c)
		if err != nil {
			return err
		}
		ctx, p, err := Start(c, c.Name(), config)
		if err != nil {
			return err
		}
		p.Args = args
		return do(ctx, p)
	}
	return c
}

// Running is what a running process has in hand.
type Running struct {
	Name    string
	Args    []string
	Config  *studio.Config
	Log     *slog.Logger
	Metrics string // host:port of its metrics
}

// Start reads the common flags of a command with a configuration. The returned
// context also ends with the parent process when it asked for that.
func Start(c *cobra.Command, name string, config *studio.Config) (context.Context, *Running, error) {
	log, err := Logger(c, name)
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
	if _, err := config.Door(metrics); err != nil {
		return nil, nil, err
	}
	return ctx, &Running{Name: name, Config: config, Log: log, Metrics: metrics}, nil
}

// Logger writes what a process says, from the level of --log on.
func Logger(c *cobra.Command, name string) (*slog.Logger, error) {
	level := slog.LevelInfo
	text, _ := c.Flags().GetString("log")
	if err := level.UnmarshalText([]byte(text)); err != nil {
		return nil, Use(fmt.Errorf("--log %q: use debug, info, warn or error", text))
	}
	return slog.New(sparing.New(slog.NewTextHandler(c.ErrOrStderr(), &slog.HandlerOptions{Level: level}))).With("process", name), nil
}

// Show serves a process's metrics and says where; it goes on without them.
func (p *Running) Show(ctx context.Context, name string, r *prometheus.Registry, checks ...alive.Check) {
	var at string
	door, err := p.Config.Door(p.Metrics)
	if err == nil {
		at, err = door.Serve(ctx, p.Metrics, r, p.Log, checks...)
	}
	if err == nil {
		err = p.Config.SayAddress(ctx, name, at)
	}
	if err != nil {
		p.Log.Warn("no metrics", "error", err)
	}
}

// Beat says that the process lives, and shows its metrics under its name.
func (p *Running) Beat(ctx context.Context) *prometheus.Registry {
	go alive.Keep(ctx, p.Log)
	r := expose.NewRegistry(p.Name, Version())
	p.Show(ctx, p.Name, r)
	return r
}

// UserName is who runs the program.
func UserName() string {
	if u, err := user.Current(); err == nil {
		return u.Username
	}
	return "unknown"
}

// Version is what the build says of itself in logs, heartbeats and metrics.
func Version() string { return release.Of().Short() }
