//go:build unix

package studio

import (
	"io/fs"
	"syscall"
)

func ownerOf(info fs.FileInfo) (uid int, ok bool) {
	s, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return 0, false
	}
	return int(s.Uid), true
}
