//go:build unix

package main

import "golang.org/x/sys/unix"

// freeBytes is the room on a path's file system; 0 when it can't be told.
func freeBytes(path string) float64 {
	var s unix.Statfs_t
	if unix.Statfs(path, &s) != nil {
		return 0
	}
	return float64(s.Bavail) * float64(s.Bsize)
}
