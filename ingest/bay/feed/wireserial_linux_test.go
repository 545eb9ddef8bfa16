package feed

import (
	"fmt"
	"os"
	"testing"

	"golang.org/x/sys/unix"

	"fairlead/deploy/proof"
)

// TestASerialLine reads a terminal of the system's own in place of a cable.
func TestASerialLine(t *testing.T) {
	pty, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatalf("no terminal to play a serial line with: %v: mount devpts", err)
	}
	defer pty.Close()
	if err := unix.IoctlSetPointerInt(int(pty.Fd()), unix.TIOCSPTLCK, 0); err != nil {
		t.Fatal(err)
	}
	n, err := unix.IoctlGetInt(int(pty.Fd()), unix.TIOCGPTN)
	if err != nil {
		t.Fatal(err)
	}
	k := newKeeper()
	w := wireOf(t, wireMap, fmt.Sprintf("serial:///dev/pts/%d?baud=115200", n))
	stop := running(t, w, k)
	proof.Until(t, "the line is not open", func() bool { return w.State().State == StateOK })
	for i := range 3 {
		if _, err := fmt.Fprintf(pty, "%d,15%d\r\n", i+1, i); err != nil {
			t.Fatal(err)
		}
	}
	wantRaws(t, k.until(t, 3), "1,150\n2,151\n3,152")
	stop()
}
