//go:build unix

package main

import (
	"fmt"
	"os"
	"syscall"

	"github.com/spf13/cobra"
)

// become replaces this process by another program: a supervisor then watches
// that program itself, and a signal to it needs no forwarding.
func become(_ *cobra.Command, path string, argv []string) error {
	if err := syscall.Exec(path, argv, os.Environ()); err != nil {
		return fmt.Errorf("run %s: %w", path, err)
	}
	return nil
}
