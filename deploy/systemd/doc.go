// Package systemd holds units for Linux, a launchd property list for macOS and
// a scheduled task for Windows that keep a hub or a bay's collector running.
package systemd

import _ "embed"

// Collect is the unit of a bay's collector.
//
//go:embed fairlead-collect@.service
var Collect string
