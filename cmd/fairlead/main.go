// Command fairlead is the bay-data pipeline of a fitting studio: it collects
// shots, tags them with the build that hit them, stores them and answers
// questions about them. Each subcommand stands in a file of its own.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}
