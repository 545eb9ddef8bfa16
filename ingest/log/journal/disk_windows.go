package journal

import (
	"errors"
	"fmt"
	"path/filepath"

	"github.com/gofrs/flock"
	"golang.org/x/sys/windows"
)

// syncDir: NTFS logs names itself, and a folder cannot be flushed.
func (osDisk) syncDir(string) error { return nil }

func (osDisk) free(dir string) (int64, error) {
	path, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0, err
	}
	var free uint64
	if err := windows.GetDiskFreeSpaceEx(path, &free, nil, nil); err != nil {
		return 0, err
	}
	return int64(min(free, 1<<62)), nil
}

func isFull(err error) bool {
	return errors.Is(err, windows.ERROR_DISK_FULL) || errors.Is(err, windows.ERROR_HANDLE_DISK_FULL)
}

// lockDir locks a file in the folder: Windows has no lock for a folder.
func lockDir(dir string) (unlock func(), err error) {
	l := flock.New(filepath.Join(dir, "lock"))
	held, err := l.TryLock()
	if err != nil {
		return nil, fmt.Errorf("journal: lock %s: %w", dir, err)
	}
	if !held {
		return nil, fmt.Errorf("%w (%s)", ErrLocked, dir)
	}
	return func() { _ = l.Close() }, nil
}
