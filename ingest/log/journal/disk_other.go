//go:build !linux

package journal

// sync: on darwin the standard library asks the drive to empty its own cache
// too (F_FULLFSYNC), on Windows it calls FlushFileBuffers.
func (f osFile) sync() error { return f.Sync() }

func (f osFile) forget() {}
