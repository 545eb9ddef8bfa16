//go:build unix

package studio

import (
	"os"
	"os/exec"
	"syscall"
)

// ownGroup keeps a terminal's interrupt from reaching the child: the
// supervisor stops its children itself, in order.
func ownGroup(cmd *exec.Cmd) { cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }

func interrupt(p *os.Process) { p.Signal(syscall.SIGTERM) }

// quit has a Go program write its goroutines and end, also one that was stopped.
func quit(p *os.Process) {
	p.Signal(syscall.SIGQUIT)
	p.Signal(syscall.SIGCONT)
}
