//go:build linux || darwin

package chdb

import "github.com/ebitengine/purego"

func dlopen(path string) (uintptr, error) {
	// The engine takes its time zone from the C environment, which os.Setenv does not reach without cgo.
	// Stored times must not depend on where the machine stands.
	var setenv func(name, value string, overwrite int32) int32
	purego.RegisterLibFunc(&setenv, purego.RTLD_DEFAULT, "setenv")
	setenv("TZ", "UTC", 1)
	return purego.Dlopen(path, purego.RTLD_NOW|purego.RTLD_LOCAL)
}
