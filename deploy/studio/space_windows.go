package studio

import (
	"fmt"
	"path/filepath"
	"strings"

	"golang.org/x/sys/windows"
)

// FreeSpace is the room on a path's file system in bytes.
func FreeSpace(path string) (uint64, error) {
	p, err := windows.UTF16PtrFromString(path)
	if err != nil {
		return 0, fmt.Errorf("free space of %s: %w", path, err)
	}
	var free uint64
	if err := windows.GetDiskFreeSpaceEx(p, &free, nil, nil); err != nil {
		return 0, fmt.Errorf("free space of %s: %w", path, err)
	}
	return free, nil
}

// sameDisk says whether two folders lie on one file system.
func sameDisk(a, b string) bool {
	return strings.EqualFold(filepath.VolumeName(a), filepath.VolumeName(b))
}
