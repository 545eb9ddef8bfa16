//go:build unix

package feed

import (
	"fmt"
	"os"
	"syscall"
)

// holdOpen: an open file may be renamed or removed by its writer here, so the
// reader keeps it and loses nothing of it.
const holdOpen = true

// fileID names a file whatever its path, as long as it exists.
func fileID(_ *os.File, info os.FileInfo) string {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return fmt.Sprintf("%x-%x", s.Dev, s.Ino)
	}
	return ""
}
