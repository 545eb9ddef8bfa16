package journal

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairlead/deploy/proof"

	"golang.org/x/sys/unix"
)

func run(t *testing.T, name string, args ...string) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Fatalf("%s is missing: install it with: apt-get install e2fsprogs mount", name)
	}
	if out, err := exec.Command(name, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s %s: %v: %s", name, strings.Join(args, " "), err, out)
	}
}

// image makes an ext4 in a file.
func image(t *testing.T, size int64) string {
	t.Helper()
	img := filepath.Join(t.TempDir(), "disk.img")
	if err := os.WriteFile(img, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(img, size); err != nil {
		t.Fatal(err)
	}
	run(t, "mkfs.ext4", "-q", "-F", img)
	return img
}

// mount mounts; it is undone when the test ends, or by the answer before that.
func mount(t *testing.T, args ...string) (point string, undo func()) {
	t.Helper()
	point, err := os.MkdirTemp("", "journal-mount")
	if err != nil {
		t.Fatal(err)
	}
	run(t, "mount", append(args, point)...)
	gone := false
	undo = func() {
		if !gone {
			gone = true
			run(t, "umount", point)
			os.Remove(point)
		}
	}
	t.Cleanup(undo)
	return point, undo
}

// The power goes at a random instant under load; after that every acknowledged
// record is there once, and the journal opens unaided.
func TestPowerCut(t *testing.T) {
	if !isRoot(t) {
		return
	}
	cuts := 6
	if proof.Wanted() {
		cuts = 200
	}
	seed := proof.Seed(t, 11)
	rng := rand.New(rand.NewPCG(seed, seed))
	img, o := image(t, 64<<20), newTold()
	torn := 0
	for cut := range cuts {
		point, undo := mount(t, "-o", "loop,commit=1000", img)
		dir := filepath.Join(point, "journal")
		cmd, done := startHelper(t, o, dir, []int{1, 4, 32}[cut%3], 0)
		waitFor(t, o, rng.IntN(200)+1, done)
		proof.Pause(t, time.Duration(rng.IntN(2000))*time.Microsecond)
		shutdown(t, point)
		_ = cmd.Process.Kill()
		<-done
		undo()

		point, undo = mount(t, "-o", "loop,commit=1000", img)
		dir = filepath.Join(point, "journal")
		if report := o.check(t, dir); report.Torn != nil {
			torn++
		}
		undo()
	}
	t.Logf("%d power cuts (seed %d), %d records acknowledged, %d cuts left a torn end", cuts, seed, o.count(), torn)
}

// shutdown stops a file system without writing out anything that is pending.
func shutdown(t *testing.T, point string) {
	t.Helper()
	const fsIocShutdown, noLogFlush = 0x8004587d, 2
	d, err := os.Open(point)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	if err := unix.IoctlSetPointerInt(int(d.Fd()), fsIocShutdown, noLogFlush); err != nil {
		t.Fatalf("shut the file system down: %v", err)
	}
}

// A full disk stops the journal, loses nothing, and lets it go on when there is
// room again; it also opens while the disk is full.
func TestDiskFull(t *testing.T) {
	if !isRoot(t) {
		return
	}
	t.Run("tmpfs", func(t *testing.T) {
		point, _ := mount(t, "-t", "tmpfs", "-o", "size=2m", "tmpfs")
		fillUp(t, point, 0)
	})
	t.Run("ext4", func(t *testing.T) {
		point, _ := mount(t, "-o", "loop", image(t, 16<<20))
		fillUp(t, point, 0)
	})
	t.Run("reserve", func(t *testing.T) {
		point, _ := mount(t, "-t", "tmpfs", "-o", "size=2m", "tmpfs")
		fillUp(t, point, 512<<10)
	})
}

func fillUp(t *testing.T, point string, reserve int64) {
	dir, ballast := filepath.Join(point, "journal"), filepath.Join(point, "ballast")
	free, err := (osDisk{}).free(point)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(ballast, make([]byte, max(700<<10, free-1500<<10)), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(point, "other"), 0o700); err != nil {
		t.Fatal(err)
	}
	o := Options{Dir: dir, SegmentBytes: 256 << 10, MinFree: reserve}
	j, _ := openJournal(t, o)
	id, want := j.ID(), map[uint64]string{}
	put := func(i int) error {
		s := fmt.Sprintf("%d %s", i, strings.Repeat("y", 4000+i%3000))
		seq, err := j.Append(context.Background(), text(s, "range"))
		if err == nil {
			want[seq] = s
		}
		return err
	}
	check := func(when string) {
		t.Helper()
		got := readAll(t, j, id)
		if len(got) != len(want) {
			t.Fatalf("%s: %d read, %d acknowledged", when, len(got), len(want))
		}
		for seq, s := range want {
			if got[seq] != s {
				t.Fatalf("%s: seq %d differs", when, seq)
			}
		}
	}
	n := 0
	fill := func() {
		t.Helper()
		for ; ; n++ {
			if err := put(n); errors.Is(err, ErrFull) {
				break
			} else if err != nil {
				t.Fatal(err)
			}
			if n > 10000 {
				t.Fatal("the disk does not fill up")
			}
		}
	}
	fill()
	if free, err := (osDisk{}).free(point); err != nil || free < reserve {
		t.Fatalf("%d bytes free, %d are to be kept: %v", free, reserve, err)
	}
	check("full")
	if _, err := j.Append(context.Background(), text(strings.Repeat("z", 300<<10))); !errors.Is(err, ErrFull) {
		t.Fatalf("a large record on a full disk: %v", err)
	}
	j.Close()
	for range 2 {
		var report Report
		j, report = openJournal(t, o)
		if report.Began != "" || len(report.Quarantined) > 0 || j.ID() != id {
			t.Fatalf("opened while full: %+v", report)
		}
		check("opened while full")
		fill() // closing gave back what room the file had reserved
		check("full again")
		j.Close()
	}
	j, _ = openJournal(t, o)
	fill()
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	if err := put(n); err != nil {
		t.Fatalf("with room again: %v", err)
	}
	fill()
	check("went on")
	if p := string(j.Positions()["range"]); p != want[j.Last()] {
		t.Fatalf("position %.20q", p)
	}
	j.Close()

	// The first start ever, on a full disk.
	o.Dir = filepath.Join(point, "other")
	j, report := openJournal(t, o)
	if _, err := j.Append(context.Background(), text(strings.Repeat("q", 64<<10))); !errors.Is(err, ErrFull) {
		t.Fatalf("first start while full: %v; %+v", err, report)
	}
	first := j.ID()
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	if seq := mustAppend(t, j, text("room")); seq != 1 || j.ID() != first || len(j.Journals()) != 1 {
		t.Fatalf("seq %d in %s, want 1 in %s", seq, j.ID(), first)
	}
}
