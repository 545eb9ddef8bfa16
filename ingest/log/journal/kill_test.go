package journal

import (
	"math/rand/v2"
	"os/exec"
	"runtime"
	"strings"
	"testing"
	"time"

	"fairlead/deploy/proof"
)

// waitFor lets the helper be told of some more records. It ends the test when
// nothing happens at all.
func waitFor(t *testing.T, o *told, more int, done chan struct{}) {
	t.Helper()
	want, patience := o.count()+more, time.Now().Add(time.Minute)
	for o.count() < want {
		select {
		case <-done:
			t.Fatalf("the helper ended by itself; failures: %q", o.failed)
		case <-time.After(time.Millisecond):
		}
		if time.Now().After(patience) {
			t.Fatal("the helper appended nothing for a minute")
		}
	}
}

// A process that is killed, again and again, has lost nothing and needs no help.
func TestKilled(t *testing.T) {
	kills := 6
	if proof.Wanted() {
		kills = 200
	}
	rng := rand.New(rand.NewPCG(7, 7))
	dir, o := t.TempDir(), newTold()
	for range kills {
		cmd, done := startHelper(t, o, dir, 8, 0)
		waitFor(t, o, rng.IntN(300)+1, done)
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		<-done
		o.check(t, dir)
	}
	t.Logf("%d kills, %d records acknowledged", kills, o.count())
}

// The system says EIO to a sync: no acknowledgement, and the journal goes on
// after it has read back what it has.
func TestSyncFails(t *testing.T) {
	if runtime.GOOS != "linux" {
		leftOut(t, "failing syncs need strace on Linux")
		return
	}
	if _, err := exec.LookPath("strace"); err != nil {
		t.Fatal("strace is missing: install it with: apt-get install strace")
	}
	for _, c := range []struct {
		inject string
		fails  int // at least
	}{
		{"fdatasync:error=EIO:when=5+9", 10}, // once in a while, also when a file is begun
		{"fdatasync:error=EIO:when=7..9", 1}, // several in a row
		{"pwrite64:error=EIO:when=6+31", 2},  // the write itself
		{"fsync:error=EIO:when=2+2", 0},      // of the folder
		{"ftruncate:error=EIO:when=1+1", 0},  // cutting off is not what makes it right
	} {
		t.Run(c.inject, func(t *testing.T) {
			dir, o := t.TempDir(), newTold()
			name, _, _ := strings.Cut(c.inject, ":")
			_, done := startHelper(t, o, dir, 1, 250,
				"strace", "-f", "-qq", "-o", "/dev/null", "-e", "trace="+name, "-e", "inject="+c.inject)
			<-done
			if len(o.failed) < c.fails || o.count() < 100 || o.count()+len(o.failed) != 250 {
				t.Fatalf("%d acknowledged, %d failed: %q", o.count(), len(o.failed), o.failed)
			}
			o.check(t, dir)
			t.Logf("%d acknowledged, %d failed", o.count(), len(o.failed))
		})
	}
}
