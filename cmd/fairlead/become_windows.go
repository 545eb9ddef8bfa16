package main

import (
	"errors"

	"github.com/spf13/cobra"
)

func become(*cobra.Command, string, []string) error {
	return errors.New("the embedded engine does not run on Windows: set store.dsn to a ClickHouse server, and run the hub on Linux or macOS")
}
