package journal

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// What is written anew is the same journal with other words: id, numbers, times,
// positions, several files, and the same damage, whose bytes say nothing any more.
func TestRewrittenIsTheSameJournal(t *testing.T) {
	dir := t.TempDir()
	at := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	o := Options{Dir: dir, Studio: "harbour", Bay: "north", Machine: "m", SegmentBytes: 64 << 10, Now: func() time.Time { return at }}
	j, _, err := Open(o)
	if err != nil {
		t.Fatal(err)
	}
	const n = 300
	for i := range n {
		at = at.Add(time.Second)
		payload := []byte(strings.Repeat("clear ", i%90) + "clear end")
		if i%3 == 0 {
			payload = []byte("plain")
		}
		if _, err := j.Append(context.Background(), Record{payload, []Position{{"feed", []byte{byte(i)}}}}); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := Rewrite(dir, nil); !errors.Is(err, ErrLocked) {
		t.Errorf("a journal that is open: %v", err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	files, err := segmentFiles(dir)
	if err != nil || len(files) < 2 {
		t.Fatal(files, err)
	}
	hit := files[0]
	text, err := os.ReadFile(hit)
	if err != nil {
		t.Fatal(err)
	}
	text[bytes.LastIndex(text, []byte("clear end"))] ^= 0x20 // one record can't be read
	if err := os.WriteFile(hit, text, 0o640); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "."+filepath.Base(hit)+"-123"), []byte("clear"), 0o640); err != nil {
		t.Fatal(err)
	}
	was := everything(t, o)
	calls := 0
	seal := func(payload []byte) ([]byte, error) {
		calls++
		return bytes.ReplaceAll(payload, []byte("clear"), []byte("a longer thing")), nil
	}
	changed, err := Rewrite(dir, seal)
	if err != nil || changed < n/2 || changed >= n*2/3 {
		t.Fatalf("%d changed of %d, %v", changed, calls, err)
	}
	now := everything(t, o)
	if now.id != was.id || now.lost != was.lost || now.lost != 1 || string(now.position) != string(was.position) ||
		len(now.entries) != len(was.entries) {
		t.Fatalf("%+v, was %+v", now, was)
	}
	for i, e := range now.entries {
		b := was.entries[i]
		if want, _ := seal(b.Payload); e.Journal != b.Journal || e.Seq != b.Seq || !e.At.Equal(b.At) || !bytes.Equal(e.Payload, want) {
			t.Fatalf("entry %d is %+v, was %+v", i, e, b)
		}
	}
	if again, err := Rewrite(dir, seal); err != nil || again != 0 {
		t.Errorf("once more: %d, %v", again, err)
	}
	left, _ := os.ReadDir(dir)
	for _, f := range left {
		if text, err := os.ReadFile(filepath.Join(dir, f.Name())); err != nil || bytes.Contains(text, []byte("lear ")) {
			t.Errorf("%s holds what was said: %v", f.Name(), err)
		}
	}
	seen := 0
	if err := Look(dir, func([]byte) error { seen++; return nil }); err != nil || seen != len(now.entries) {
		t.Errorf("looked at %d, %v", seen, err)
	}
	if n, err := Rewrite(filepath.Join(dir, "none"), seal); n != 0 || err != nil {
		t.Errorf("no folder: %d, %v", n, err)
	}
}

type held struct {
	id       string
	entries  []Entry
	lost     uint64
	position []byte
}

// everything reads a journal as its owner would, and leaves it as it was.
func everything(t *testing.T, o Options) (h held) {
	t.Helper()
	copied := t.TempDir()
	if err := os.CopyFS(copied, os.DirFS(o.Dir)); err != nil {
		t.Fatal(err)
	}
	o.Dir = copied
	j, report, err := Open(o)
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	first := j.Journals()[0]
	h = held{id: first.ID, lost: report.QuarantinedRecords(), position: j.Positions()["feed"]}
	r := j.Read(first.ID, first.First)
	defer r.Close()
	for {
		e, ok, err := r.TryNext()
		if !ok || err != nil {
			return h
		}
		h.entries = append(h.entries, e)
	}
}
