package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"runtime"

	"github.com/dustin/go-humanize"
	"github.com/spf13/cobra"

	"fairlead/deploy/release"
)

// options are the flags.
type options struct {
	data      string
	listen    string
	tokenFile string
	users     string
	library   string
	database  string
	memory    string
	sessions  int
	stdin     bool
}

func newCommand() *cobra.Command {
	var o options
	c := &cobra.Command{
		Use:   "fairlead-engine --data DIR",
		Short: "The embedded ClickHouse engine, on the loopback interface",
		Long: `fairlead-engine runs the ClickHouse engine on one data folder and answers ClickHouse's
HTTP interface on the loopback interface. It prints one line when it is ready:

  ready http://127.0.0.1:PORT

Every statement needs the token in the token file, which is made if it is not there.
/ping and /metrics (Prometheus) need none. That token may do everything; the users in
the folder of --users have tokens of their own and may do less. DIR/statements.log says
what analysts asked, and what was refused.

The engine's library comes by npm: (cd deploy/engine && npm ci). It is looked for at
FAIRLEAD_ENGINE_LIB, beside this program, and in deploy/engine/node_modules.`,
		Example: `  fairlead-engine --data var/engine --listen 127.0.0.1:8123
  curl -H "X-ClickHouse-Key: $(cat var/engine/token)" http://127.0.0.1:8123/ --data-binary 'SELECT version()'`,
		Args:          cobra.NoArgs,
		Version:       release.Of().String(),
		SilenceUsage:  true,
		SilenceErrors: true,
		RunE: func(c *cobra.Command, _ []string) error {
			ctx := c.Context()
			if o.stdin {
				var cancel context.CancelFunc
				ctx, cancel = context.WithCancel(ctx)
				defer cancel()
				// Whoever started us holds the other end; when that process dies, however it dies, this ends.
				go func() {
					_, _ = io.Copy(io.Discard, c.InOrStdin())
					cancel()
				}()
			}
			log := slog.New(slog.NewTextHandler(c.ErrOrStderr(), nil))
			return serveEngine(ctx, o, log, func(addr net.Addr) {
				fmt.Fprintf(c.OutOrStdout(), "ready http://%s\n", addr)
			})
		},
	}
	f := c.Flags()
	f.StringVar(&o.data, "data", "", "folder of the database; made if it is not there (required)")
	f.StringVar(&o.listen, "listen", "127.0.0.1:0", "loopback address and port; port 0 takes a free one")
	f.StringVar(&o.tokenFile, "token-file", "", "file with the token; made if it is not there (default DIR/token)")
	f.StringVar(&o.users, "users", "", "folder of the users who may do less, as 'fairlead analysts add' makes them (default DIR/users)")
	f.StringVar(&o.library, "library", "", "the engine's library, if it is not where it is looked for")
	f.StringVar(&o.database, "database", "fairlead", "database that statements use unless they say otherwise; made if it is not there")
	f.StringVar(&o.memory, "memory", "2 GiB", "bound on the engine's memory; statements beyond it fail")
	f.IntVar(&o.sessions, "sessions", 16*runtime.NumCPU(), "how many statements may run at a time")
	f.BoolVar(&o.stdin, "parent-stdin", false, "end when standard input ends, as it does when the parent process dies")
	_ = c.MarkFlagRequired("data")
	return c
}

// bytes reads a size such as '2 GiB'.
func bytes(flag, text string) (uint64, error) {
	n, err := humanize.ParseBytes(text)
	if err != nil {
		return 0, fmt.Errorf("--%s %q is not a size: write it as 2GiB or 800MB", flag, text)
	}
	return n, nil
}
