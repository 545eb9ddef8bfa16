package feed

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func quickTail(t *testing.T, m *Map, path string) *Tail {
	t.Helper()
	s, err := NewTail(TailConfig{Map: m, Path: path, Poll: 5 * time.Millisecond, Settle: 20 * time.Millisecond, Quiet: 30 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func appendTo(t *testing.T, path, text string) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.WriteString(text); err != nil {
		t.Fatal(err)
	}
}

// TestALastLineWithoutItsEnd is a device that ends a line when the next one
// begins: each shot comes when it is written, once, also across restarts.
func TestALastLineWithoutItsEnd(t *testing.T) {
	m := parsed(t, plainMap)
	path := filepath.Join(t.TempDir(), "f.csv")
	k := newKeeper()
	want := []string{}
	appendTo(t, path, strings.TrimSpace(plainHeader))
	for i := range 4 {
		stop := running(t, quickTail(t, m, path), k)
		line := fmt.Sprintf("5%d.1;120", i)
		want = append(want, line)
		appendTo(t, path, "\n"+line)
		k.until(t, i+1)
		stop()
	}
	if got := raws(k.until(t, 4)); strings.Join(got, "|") != strings.Join(want, "|") {
		t.Errorf("read %q, want %q", got, want)
	}
}

// TestALastLineThatGoesOn is a device that stops in the middle of a line for
// longer than a file is quiet: the line is read again as a whole.
func TestALastLineThatGoesOn(t *testing.T) {
	m := parsed(t, plainMap)
	path := filepath.Join(t.TempDir(), "f.csv")
	k := newKeeper()
	stop := running(t, quickTail(t, m, path), k)
	defer stop()
	appendTo(t, path, plainHeader+"50.1;12")
	k.until(t, 1)
	appendTo(t, path, "0\n51;121\n")
	if got := strings.Join(raws(k.until(t, 3)), "|"); got != "50.1;12|50.1;120|51;121" {
		t.Errorf("read %q", got)
	}
}

// TestHalfALineWaits: a line with fewer cells than the header is not whole.
func TestHalfALineWaits(t *testing.T) {
	m := parsed(t, plainMap)
	r := newFileReader(m, "f.csv", bytes.NewReader([]byte(plainHeader+"50.1;")))
	for {
		if _, _, err := r.step(false); err != nil {
			break
		}
	}
	if r.whole() {
		t.Error("half a line counts as whole")
	}
}

// TestCarriageReturnsAlone reads a file whose lines end as on an old computer.
func TestCarriageReturnsAlone(t *testing.T) {
	m := parsed(t, plainMap)
	text := strings.ReplaceAll(plainHeader+"50.1;120\n50.2;121\n50.3;122\n", "\n", "\r")
	entries, skipped, err := ParseAll(m, "f.csv", strings.NewReader(text), testStamp)
	if err != nil || len(entries) != 3 || skipped.Header != 1 || !entries[2].Valid() {
		t.Errorf("%d entries, skipped %+v, %v", len(entries), skipped, err)
	}
	data := []byte(text)
	got := drainGrowing(t, m, "f.csv", data, []int{5, 14, 21}, func(i int) bool { return i == 1 })
	same(t, "grown", got, entries)
}

// TestAFolderOfOneShotFiles takes in many small files with few writes.
func TestAFolderOfOneShotFiles(t *testing.T) {
	m := parsed(t, plainMap)
	dir := t.TempDir()
	const n = 700
	for i := range n {
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%04d.csv", i)), fmt.Appendf(nil, "%s5%04d.1;120", plainHeader, i),
			0o600); err != nil {
			t.Fatal(err)
		}
	}
	m.fields[0].info.Max = 1e9 // the values only number the lines
	k := newKeeper()
	ledger := filepath.Join(t.TempDir(), "read")
	s, err := NewFolder(FolderConfig{Map: m, Dir: dir, Stable: 20 * time.Millisecond, Poll: 5 * time.Millisecond, Ledger: ledger})
	if err != nil {
		t.Fatal(err)
	}
	stop := running(t, s, k)
	k.until(t, n)
	stop()
	if k.batches > 2+n/100 {
		t.Errorf("%d files were handed over in %d batches", n, k.batches)
	}
}
