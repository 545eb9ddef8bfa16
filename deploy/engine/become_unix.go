//go:build unix

package engine

import (
	"fmt"
	"os"
	"syscall"
)

// Become replaces this process by another program: a supervisor then watches
// that program itself, and a signal to it needs no forwarding.
func Become(path string, argv []string) error {
	if err := syscall.Exec(path, argv, os.Environ()); err != nil {
		return fmt.Errorf("run %s: %w", path, err)
	}
	return nil
}
