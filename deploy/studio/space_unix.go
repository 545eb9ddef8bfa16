//go:build unix

package studio

import (
	"fmt"

	"golang.org/x/sys/unix"
)

// FreeSpace is the room on a path's file system in bytes.
func FreeSpace(path string) (uint64, error) {
	var s unix.Statfs_t
	if err := unix.Statfs(path, &s); err != nil {
		return 0, fmt.Errorf("free space of %s: %w", path, err)
	}
	return uint64(s.Bavail) * uint64(s.Bsize), nil
}

// sameDisk says whether two folders lie on one file system.
func sameDisk(a, b string) bool {
	var x, y unix.Stat_t
	return unix.Stat(a, &x) == nil && unix.Stat(b, &y) == nil && x.Dev == y.Dev
}
