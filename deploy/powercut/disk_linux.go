package powercut

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// Disk is a mounted file system. It is unmounted when the test ends.
type Disk struct {
	t     testing.TB
	image string // empty for a tmpfs
	point string
	up    bool
}

// New makes an ext4 of that many bytes and mounts it. Call Possible before.
func New(t testing.TB, bytes int64) *Disk {
	t.Helper()
	dir := t.TempDir()
	d := &Disk{t: t, image: filepath.Join(dir, "disk.img"), point: filepath.Join(dir, "disk")}
	if err := errors.Join(os.WriteFile(d.image, nil, 0o600), os.Truncate(d.image, bytes), os.Mkdir(d.point, 0o700)); err != nil {
		t.Fatal(err)
	}
	// A small journal, so that much of the room is left for files.
	d.run("mkfs.ext4", "-q", "-F", "-m", "0", "-J", "size=8", d.image)
	d.mount()
	t.Cleanup(d.unmount)
	return d
}

// NewMemory makes a tmpfs of that many bytes: it fills up to the byte, and has
// no power to cut. Call Possible before.
func NewMemory(t testing.TB, bytes int64) *Disk {
	t.Helper()
	d := &Disk{t: t, point: filepath.Join(t.TempDir(), "disk")}
	if err := os.Mkdir(d.point, 0o700); err != nil {
		t.Fatal(err)
	}
	d.run("mount", "-t", "tmpfs", "-o", fmt.Sprintf("size=%d", bytes), "tmpfs", d.point)
	d.up = true
	t.Cleanup(d.unmount)
	return d
}

// Dir is the folder of the disk.
func (d *Disk) Dir() string { return d.point }

// Cut takes the power away: nothing that is pending reaches the disk any more,
// and every use of it fails. Processes that had files open there have to be
// killed before Restore.
func (d *Disk) Cut() {
	d.t.Helper()
	const fsIocShutdown, noLogFlush = 0x8004587d, 2
	f, err := os.Open(d.point)
	if err != nil {
		d.t.Fatal(err)
	}
	defer f.Close()
	if err := unix.IoctlSetPointerInt(int(f.Fd()), fsIocShutdown, noLogFlush); err != nil {
		d.t.Fatalf("cut the power of %s: %v", d.point, err)
	}
}

// Restore gives the power back: the disk holds what was synced before the cut.
func (d *Disk) Restore() {
	d.t.Helper()
	d.unmount()
	d.mount()
}

// Free is the room left for files, in bytes.
func (d *Disk) Free() int64 {
	d.t.Helper()
	var s unix.Statfs_t
	if err := unix.Statfs(d.point, &s); err != nil {
		d.t.Fatal(err)
	}
	return int64(s.Bavail) * s.Bsize
}

// Fill takes all room but keep bytes; the function returned gives it back.
func (d *Disk) Fill(keep int64) (release func()) {
	d.t.Helper()
	ballast := filepath.Join(d.point, "ballast")
	f, err := os.OpenFile(ballast, os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o600)
	if err != nil {
		d.t.Fatal(err)
	}
	defer f.Close()
	chunk := make([]byte, 64<<10)
	for {
		room := d.Free() - keep
		if room <= 0 {
			break
		}
		if _, err := f.Write(chunk[:min(room, int64(len(chunk)))]); errors.Is(err, unix.ENOSPC) {
			break
		} else if err != nil {
			d.t.Fatal(err)
		}
	}
	if err := f.Sync(); err != nil && !errors.Is(err, unix.ENOSPC) {
		d.t.Fatal(err)
	}
	return func() {
		if err := os.Remove(ballast); err != nil && !errors.Is(err, os.ErrNotExist) {
			d.t.Error(err)
		}
	}
}

// Hold takes all room but keep bytes too, and writes nothing for it: not for a tmpfs.
func (d *Disk) Hold(keep int64) (release func()) {
	d.t.Helper()
	held := filepath.Join(d.point, "held")
	f, err := os.OpenFile(held, os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		d.t.Fatal(err)
	}
	defer f.Close()
	size := int64(0)
	for room := d.Free() - keep; room >= 1<<20; room = d.Free() - keep {
		room = min(room, 1<<30)
		if err := unix.Fallocate(int(f.Fd()), 0, size, room); errors.Is(err, unix.ENOSPC) {
			break
		} else if err != nil {
			d.t.Fatal(err)
		}
		size += room
	}
	return func() {
		if err := os.Remove(held); err != nil && !errors.Is(err, os.ErrNotExist) {
			d.t.Error(err)
		}
	}
}

func (d *Disk) mount() {
	d.t.Helper()
	// The longest commit interval, so that nothing is written out but by a sync.
	d.run("mount", "-o", "loop,commit=1000", d.image, d.point)
	d.up = true
}

func (d *Disk) unmount() {
	d.t.Helper()
	if !d.up {
		return
	}
	var err error
	for range 200 { // a killed process may take a moment to let go
		if err = unix.Unmount(d.point, 0); err == nil {
			d.up = false
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	d.t.Fatalf("unmount %s: %v: is a process still using it?", d.point, err)
}

func (d *Disk) run(name string, args ...string) {
	d.t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		d.t.Fatalf("%s is missing: install it with: apt-get install e2fsprogs mount", name)
	}
	if out, err := exec.Command(name, args...).CombinedOutput(); err != nil {
		d.t.Fatalf("%s %s: %v: %s", name, strings.Join(args, " "), err, out)
	}
}
