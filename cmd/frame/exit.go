package frame

import (
	"errors"
	"fmt"
	"io"
)

// exitError carries the exit code a command wants; err may be nil when the
// command has already printed what there was to say.
type exitError struct {
	code int
	err  error
}

func (e *exitError) Error() string {
	if e.err == nil {
		return fmt.Sprintf("exit %d", e.code)
	}
	return e.err.Error()
}

func (e *exitError) Unwrap() error { return e.err }

// Exit ends a command with a code of its own. err may be nil where the command has
// already printed what there was to say.
func Exit(code int, err error) error { return &exitError{code, err} }

// ExitIf is exit code 1 where what was told is bad; an error of telling it goes before.
func ExitIf(bad bool, err error) error {
	if err != nil || !bad {
		return err
	}
	return Exit(1, nil)
}

// Code says what a command's error is, and what the program ends with: 0 for success,
// 2 for wrong use, what Exit says, 1 for any other failure.
func Code(err error, stderr io.Writer) int {
	if err == nil {
		return 0
	}
	var exit *exitError
	if errors.As(err, &exit) {
		if exit.err != nil {
			fmt.Fprintln(stderr, "fairlead:", exit.err)
		}
		return exit.code
	}
	var mended wrongUse
	if errors.As(err, &mended) {
		err = Use(err)
	}
	fmt.Fprintln(stderr, "fairlead:", err)
	if IsUse(err) {
		return 2
	}
	return 1
}

// wrongUse is an error of any room that another command line mends.
type wrongUse interface {
	error
	WrongUse()
}

// Use marks an error as wrong use: another command line mends it.
func Use(err error) error {
	if err == nil || IsUse(err) {
		return err
	}
	return &usageError{err}
}

// IsUse says whether an error is marked as wrong use.
func IsUse(err error) bool { return errors.As(err, new(*usageError)) }

// usageError marks a command line that cannot be run as written.
type usageError struct{ err error }

func (e *usageError) Error() string { return e.err.Error() + " (see --help)" }
func (e *usageError) Unwrap() error { return e.err }
