//go:build !linux && !darwin

package chdb

import (
	"errors"
	"runtime"
)

func dlopen(string) (uintptr, error) {
	return 0, errors.New("there is no engine library for " + runtime.GOOS + "; use a ClickHouse server by its DSN instead")
}
