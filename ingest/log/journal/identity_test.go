package journal

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// copyDir is what cloning or restoring a disk does.
func copyDir(t *testing.T, from string) string {
	t.Helper()
	to := t.TempDir()
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
	return to
}

// A disk that was cloned into another computer begins a journal of its own, so
// the two never give one number to two shots; both still have the old entries.
func TestClonedDisk(t *testing.T) {
	o := Options{Dir: t.TempDir(), Machine: "bay computer 1"}
	j, _ := openJournal(t, o)
	id := j.ID()
	mustAppend(t, j, text("one", "range"), text("two", "range"))
	clone := Options{Dir: copyDir(t, o.Dir), Machine: "bay computer 2"}

	k, report := openJournal(t, clone)
	if !strings.Contains(report.Began, "cloned") || report.Previous != id || k.ID() == id || len(report.Quarantined) != 0 {
		t.Fatalf("%+v", report)
	}
	if got := readAll(t, k, id); len(got) != 2 || got[2] != "two" {
		t.Fatalf("the clone reads %v", got)
	}
	if p := string(k.Positions()["range"]); p != "two" {
		t.Fatalf("the clone would read again from %q", p)
	}
	if a, b := mustAppend(t, j, text("three")), mustAppend(t, k, text("three")); a != 3 || b != 1 {
		t.Fatalf("the original goes on with %d, the clone with %d", a, b)
	}
	k.Close()
	own := k.ID()
	k, report = openJournal(t, clone)
	if report.Began != "" || k.ID() != own {
		t.Fatalf("the clone changes again: %+v", report)
	}
}

// A journal that was put back to an older state looks sound by itself; the hub
// knows better and has it begin anew.
func TestRestoredThenRotated(t *testing.T) {
	o := Options{Dir: t.TempDir()}
	j, _ := openJournal(t, o)
	id := j.ID()
	mustAppend(t, j, text("one", "range"))
	backup := copyDir(t, o.Dir)
	mustAppend(t, j, text("two", "range"))
	j.Close()

	k, report := openJournal(t, Options{Dir: backup})
	if report.Began != "" || k.ID() != id || k.Last() != 1 {
		t.Fatalf("%+v", report)
	}
	waiting := k.Read(id, 2)
	defer waiting.Close()
	end := make(chan error)
	go func() {
		_, err := waiting.Next(context.Background())
		end <- err
	}()
	if err := k.Rotate("the hub has seen 2"); err != nil {
		t.Fatal(err)
	}
	if err := <-end; !errors.Is(err, io.EOF) {
		t.Fatalf("the reader of the old journal got %v", err)
	}
	if seq := mustAppend(t, k, text("two again", "range")); seq != 1 || k.ID() == id {
		t.Fatalf("appended as %d of %s", seq, k.ID())
	}
	infos := k.Journals()
	if len(infos) != 2 || infos[0].Active || !infos[1].Active || infos[1].Reason != "the hub has seen 2" {
		t.Fatalf("%+v", infos)
	}
	k.Close()
	k, report = openJournal(t, Options{Dir: backup})
	if report.Began != "" || k.ID() != infos[1].ID || readAll(t, k, "")[1] != "two again" {
		t.Fatalf("%+v", report)
	}
}

func TestOtherBay(t *testing.T) {
	o := Options{Dir: t.TempDir(), Studio: "Harbour Row", Bay: "north"}
	j, _ := openJournal(t, o)
	mustAppend(t, j, text("one"))
	j.Close()
	o.Bay = "quay"
	j, report := openJournal(t, o)
	infos := j.Journals()
	if report.Began == "" || len(infos) != 2 || infos[0].Bay != "north" || infos[1].Bay != "quay" {
		t.Fatalf("%+v %+v", report, infos)
	}
}

// A file of a newer program is left alone, and work goes on.
func TestNewerFormat(t *testing.T) {
	o := Options{Dir: t.TempDir()}
	path := segmentPath(o.Dir, 3, journalID{1, 2, 3}, 1)
	newer := append(append([]byte{}, preambleMagic[:7]...), formatMajor+1, 1, 2, 3, 0, 0, 0, 0, 0)
	newer = append(newer, "whatever comes after this"...)
	if err := os.WriteFile(path, newer, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(o.Dir, "notes.txt"), []byte("not ours"), 0o600); err != nil {
		t.Fatal(err)
	}
	j, report := openJournal(t, o)
	if len(report.Unreadable) != 1 || report.Unreadable[0] != path || report.Began == "" {
		t.Fatalf("%+v", report)
	}
	mustAppend(t, j, text("one"))
	j.Close()
	if j, report = openJournal(t, o); readAll(t, j, "")[1] != "one" {
		t.Fatalf("%+v", report)
	}
	if left, err := os.ReadFile(path); err != nil || string(left) != string(newer) {
		t.Fatalf("the newer file was touched: %v", err)
	}
}

func TestWrongUse(t *testing.T) {
	for name, o := range map[string]Options{
		"no folder":     {},
		"tiny segments": {Dir: t.TempDir(), SegmentBytes: 100},
		"below nothing": {Dir: t.TempDir(), MinFree: -1},
		"long name":     {Dir: t.TempDir(), Bay: strings.Repeat("b", 300)},
		"not a folder":  {Dir: os.Args[0]},
		"under a file":  {Dir: filepath.Join(os.Args[0], "x")},
	} {
		if _, _, err := Open(o); err == nil {
			t.Errorf("%s: opened", name)
		}
	}
	j, _ := openJournal(t, Options{Dir: t.TempDir()})
	ctx, cancel := context.WithCancel(context.Background())
	if _, err := j.Append(ctx); !errors.Is(err, ErrEmpty) {
		t.Errorf("nothing: %v", err)
	}
	if _, err := j.Append(ctx, Record{Payload: make([]byte, MaxRecordBytes+1)}); !errors.Is(err, ErrTooLarge) {
		t.Errorf("too large: %v", err)
	}
	if _, err := j.Append(ctx, text("x", "")); err == nil {
		t.Error("a position without a feed")
	}
	if err := j.SetPositions(ctx, Position{"f", make([]byte, MaxRecordBytes+1)}); !errors.Is(err, ErrTooLarge) {
		t.Errorf("huge position: %v", err)
	}
	if seq := mustAppend(t, j, Record{Payload: make([]byte, MaxRecordBytes-100)}); seq != 1 {
		t.Errorf("the largest record got %d", seq)
	}
	if _, err := j.Read("0123456789abcdef", 1).Next(ctx); !errors.Is(err, ErrUnknownJournal) {
		t.Errorf("unknown journal: %v", err)
	}
	cancel()
	if _, err := j.Append(ctx, text("x")); !errors.Is(err, context.Canceled) || j.Last() != 1 {
		t.Errorf("cancelled: %v", err)
	}
	r := j.Read("", 2)
	if _, err := r.Next(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("reader cancelled: %v", err)
	}
	j.Close()
	if _, err := r.Next(context.Background()); !errors.Is(err, ErrClosed) {
		t.Errorf("reader of a closed journal: %v", err)
	}
	if _, err := j.Append(context.Background(), text("x")); !errors.Is(err, ErrClosed) {
		t.Errorf("append to a closed journal: %v", err)
	}
	if err := j.Rotate("x"); !errors.Is(err, ErrClosed) {
		t.Errorf("rotate a closed journal: %v", err)
	}
	if err := j.Close(); err != nil {
		t.Errorf("close twice: %v", err)
	}
}

func TestMachineIDIsStable(t *testing.T) {
	a, b := MachineID(), MachineID()
	if a != b || len(a) != 32 {
		t.Fatalf("%q, then %q", a, b)
	}
}
