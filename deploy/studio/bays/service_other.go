//go:build !linux && !windows

package bays

import (
	"context"
	"fmt"
	"runtime"

	"fairlead/deploy/studio"
)

func usual() string { return None }

func (Join) install(_ context.Context, kind string, _ *studio.Config, _ string) error {
	return fmt.Errorf("there is no %s on %s: deploy/systemd has a property list for launchd", kind, runtime.GOOS)
}

// AsService runs what a service does; nothing runs as one here.
func AsService(context.Context, func(context.Context) error) (bool, error) { return false, nil }
