// Command fairlead-engine is the embedded ClickHouse: the engine's library behind ClickHouse's HTTP interface,
// on the loopback interface, for one studio. It is a program of its own so that a crash or a lack of memory in
// the engine does not take the pipeline down, and so that the pipeline's binary stays free of it.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "fairlead-engine:", err)
		os.Exit(1)
	}
}

// run is the program. It returns when ctx ends, or stdin if the engine was told to watch it.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) error {
	cmd := newCommand()
	cmd.SetArgs(args)
	cmd.SetIn(stdin)
	cmd.SetOut(stdout)
	cmd.SetErr(stderr)
	return cmd.ExecuteContext(ctx)
}
