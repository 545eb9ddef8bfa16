package main

import "golang.org/x/sys/windows"

// freeBytes is the room on a path's file system; 0 when it can't be told.
func freeBytes(path string) float64 {
	var free uint64
	p, err := windows.UTF16PtrFromString(path)
	if err != nil || windows.GetDiskFreeSpaceEx(p, &free, nil, nil) != nil {
		return 0
	}
	return float64(free)
}
