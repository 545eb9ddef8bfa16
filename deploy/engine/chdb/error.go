package chdb

import (
	"regexp"
	"strconv"
)

// Error is an exception of the engine.
type Error struct {
	// Code is ClickHouse's error code, 0 if the message carried none.
	Code int
	// Message is the whole text, 'Code: N. DB::Exception: … (NAME)'.
	Message string
}

func (e *Error) Error() string { return e.Message }

var codePrefix = regexp.MustCompile(`^Code:\s*(\d+)\.`)

func engineError(message string) error {
	if message == "" {
		return nil
	}
	e := &Error{Message: message}
	if m := codePrefix.FindStringSubmatch(message); m != nil {
		e.Code, _ = strconv.Atoi(m[1])
	} else {
		// Clients recognise an exception by its code: 1002 is ClickHouse's UNKNOWN_EXCEPTION.
		e.Code = 1002
		e.Message = "Code: 1002. DB::Exception: " + message + " (UNKNOWN_EXCEPTION)"
	}
	return e
}
