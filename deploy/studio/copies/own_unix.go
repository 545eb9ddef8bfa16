//go:build unix

package copies

import (
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// own gives what was restored to whoever the data folder belongs to: root
// restores, and the service's user runs the hub.
func own(data, restored string) error {
	info, err := os.Stat(data)
	if err != nil {
		return err
	}
	owner, ok := info.Sys().(*syscall.Stat_t)
	if !ok || os.Geteuid() != 0 || owner.Uid == 0 {
		return nil
	}
	return filepath.WalkDir(restored, func(path string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		return os.Lchown(path, int(owner.Uid), int(owner.Gid))
	})
}
