//go:build unix

package backup

import "golang.org/x/sys/unix"

// syncAll has everything that was written reach the disks.
func syncAll() { unix.Sync() }
