//go:build unix

package sheets

import (
	"os/exec"
	"syscall"
)

// inGroup has a program begin in a group of its own: what /usr/bin calls Chromium may
// be a script, and to kill that alone leaves the browser.
func inGroup(c *exec.Cmd) { c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }

// killGroup ends it with all that it began.
func killGroup(c *exec.Cmd) error { return syscall.Kill(-c.Process.Pid, syscall.SIGKILL) }
