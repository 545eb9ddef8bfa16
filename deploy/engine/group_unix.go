//go:build unix

package engine

import (
	"os/exec"
	"syscall"
)

// ownGroup keeps a Ctrl-C at the terminal away from the child: the parent stops it in its order, after what
// still writes to it.
func ownGroup(cmd *exec.Cmd) { cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }
