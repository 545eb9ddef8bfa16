package powercut

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// What was synced is there after a cut, what was not is gone: else the tests
// that lean on this package would prove nothing.
func TestCutKeepsWhatWasSyncedAlone(t *testing.T) {
	if !Possible(t) {
		return
	}
	d := New(t, 64<<20)
	write := func(name string, sync bool) {
		t.Helper()
		f, err := os.Create(filepath.Join(d.Dir(), name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if _, err := f.Write(bytes.Repeat([]byte("shot "), 2000)); err != nil {
			t.Fatal(err)
		}
		if sync {
			if err := f.Sync(); err != nil {
				t.Fatal(err)
			}
		}
	}
	write("synced", true)
	write("pending", false)
	d.Cut()
	if err := os.WriteFile(filepath.Join(d.Dir(), "late"), []byte("x"), 0o600); err == nil {
		t.Error("a disk without power takes a file")
	}
	d.Restore()
	if text, err := os.ReadFile(filepath.Join(d.Dir(), "synced")); err != nil || len(text) != 10000 {
		t.Errorf("synced: %d bytes, %v", len(text), err)
	}
	if text, err := os.ReadFile(filepath.Join(d.Dir(), "pending")); err == nil && len(text) > 0 {
		t.Errorf("pending: %d bytes outlived the cut", len(text))
	}
}

func TestFillLeavesWhatWasAsked(t *testing.T) {
	if !Possible(t) {
		return
	}
	for name, d := range map[string]*Disk{"ext4": New(t, 64<<20), "tmpfs": NewMemory(t, 4<<20)} {
		release := d.Fill(256 << 10)
		if free := d.Free(); free > 256<<10 {
			t.Errorf("%s: %d bytes left", name, free)
		}
		release()
		if free := d.Free(); free < 3<<20 {
			t.Errorf("%s: %d bytes left after the release", name, free)
		}
	}
}
