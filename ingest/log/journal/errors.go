package journal

import (
	"errors"
	"fmt"
)

var (
	// ErrFull: there is no room (or less than Options.MinFree). Nothing was
	// written; the same call succeeds once there is room again.
	ErrFull = errors.New("journal: the disk is full: nothing was written; free some space and it goes on by itself")

	// ErrClosed: the journal was closed.
	ErrClosed = errors.New("journal: closed")

	// ErrLocked: another process has the folder open.
	ErrLocked = errors.New("journal: another process has this folder open: stop it, or use another folder")

	// ErrDamaged: bytes that were durable once cannot be read any more. It is what
	// a Quarantine is when it is passed on as an error; no call fails with it.
	ErrDamaged = errors.New("journal: damaged")

	// ErrUnknownJournal: no journal with that id is on the disk (any more).
	ErrUnknownJournal = errors.New("journal: no such journal here")

	// ErrEmpty: Append was called without a record.
	ErrEmpty = errors.New("journal: nothing to append")

	// ErrTooLarge: a record with its positions has more than MaxRecordBytes.
	ErrTooLarge = errors.New("journal: record too large")
)

// IOError is a failed operation on the disk other than a lack of room. The
// records of the call that got it are not acknowledged: some of them may turn
// up after a restart, so append them again. The journal checks what it has by
// reading it back before it takes another record.
type IOError struct {
	Op   string // what was tried, such as "sync"
	Path string
	Err  error
}

func (e *IOError) Error() string { return fmt.Sprintf("journal: %s %s: %v", e.Op, e.Path, e.Err) }
func (e *IOError) Unwrap() error { return e.Err }

// ioError names the operation, and tells a lack of room from all else.
func ioError(op, path string, err error) error {
	if isFull(err) {
		return fmt.Errorf("%w (%s %s: %v)", ErrFull, op, path, err)
	}
	return &IOError{Op: op, Path: path, Err: err}
}
