package studio

import (
	"os"
	"os/exec"
)

func ownGroup(*exec.Cmd) {}

// interrupt does nothing: on Windows a child ends by its standard input.
func interrupt(*os.Process) {}

// quit kills at once: a program on Windows can't be asked for its goroutines so.
func quit(p *os.Process) { p.Kill() }
