package journal

import (
	"errors"

	"golang.org/x/sys/unix"
)

// sync is fdatasync: unlike fsync it spares writing the file's times, which
// halves the cost where the room was reserved before.
func (f osFile) sync() error {
	return retryInterrupted(func() error { return unix.Fdatasync(int(f.Fd())) })
}

func (f osFile) forget() {
	_ = unix.Fadvise(int(f.Fd()), 0, 0, unix.FADV_DONTNEED)
}

func retryInterrupted(call func() error) error {
	for {
		if err := call(); !errors.Is(err, unix.EINTR) {
			return err
		}
	}
}
