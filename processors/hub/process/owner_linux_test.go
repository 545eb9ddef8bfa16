package process

import (
	"os"
	"os/exec"
	"testing"
)

// Of owners on this machine it is known which have ended; of others nothing.
func TestTheDeadAreKnown(t *testing.T) {
	child := exec.Command(os.Args[0], "-test.run=^$")
	if err := child.Run(); err != nil {
		t.Fatal(err)
	}
	ended := child.Process.Pid
	for owner, want := range map[string]bool{
		ownerOf("hub", ended):       true,
		ownerOf("hub", os.Getpid()): false,
		ownerOf("hub", 1):           false,
		ownerOf("other", ended):     false,
		"hub-12":                    false,
		"":                          false,
	} {
		if dead("hub", owner) != want {
			t.Errorf("%q: dead is %v", owner, !want)
		}
	}
}
