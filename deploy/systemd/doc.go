// Package systemd holds units for Linux, a launchd property list for macOS and
// a scheduled task for Windows that keep a hub or a bay's collector running.
package systemd
