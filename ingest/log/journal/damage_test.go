package journal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fairlead/deploy/proof"
)

// proving: run the full campaigns, not the reduced ones.
// written is a small journal's only file and what is in it.
type written struct {
	dir     string // of its own, empty
	id      string
	name    string
	bytes   []byte
	entries map[uint64]string
	ends    []int64 // where the frame of each entry ends; ends[0] is that of the file's beginning
}

// write makes a journal of n entries, in groups of up to three, as a process
// leaves it that was killed: with room reserved and no clean end.
func write(t testing.TB, n int) written {
	t.Helper()
	dir := t.TempDir()
	j, _ := openJournal(t, Options{Dir: dir, SegmentBytes: 8 << 10})
	w := written{dir: t.TempDir(), id: j.ID(), entries: map[uint64]string{}, ends: []int64{j.outEnd}}
	for i := 0; i < n; {
		var group []Record
		for len(group) < 1+i%3 && i < n {
			i++
			s := fmt.Sprintf("shot %d %s", i, bytes.Repeat([]byte{'x'}, i%17))
			group = append(group, text(s, "range"))
			w.entries[uint64(i)] = s
		}
		mustAppend(t, j, group...)
	}
	files, _ := filepath.Glob(filepath.Join(dir, "*.journal"))
	raw, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	w.name, w.bytes = filepath.Base(files[0]), raw[:j.outEnd+200]
	id, _ := parseID(w.id)
	c := cursor{f: bytes.NewReader(w.bytes), seed: id.seed()}
	for off := int64(preambleLen); ; {
		f, next, ok := c.read(off, int64(len(w.bytes)))
		if !ok {
			break
		}
		if f.kind == kindEntry {
			w.ends = append(w.ends, next)
		}
		off = next
	}
	if len(w.ends) != n+1 {
		t.Fatalf("%d entries found in the file, %d appended", len(w.ends)-1, n)
	}
	return w
}

// reopen opens a folder that holds the given bytes as the journal's file. The
// folder is simulated: there are thousands of them, and what is under test is
// the reading.
func (w written) reopen(t testing.TB, raw []byte) (*Journal, Report) {
	t.Helper()
	d := newMemDisk()
	path := filepath.Join(w.dir, w.name)
	d.files[path] = &memData{content: bytes.Clone(raw), stable: bytes.Clone(raw)}
	d.named[path] = d.files[path]
	j, report, err := Open(Options{Dir: w.dir, Studio: "Harbour Row", Bay: "north", Machine: "this one", SegmentBytes: 8 << 10, disk: d})
	if err != nil {
		t.Fatal(err)
	}
	return j, report
}

// A file that ends anywhere keeps every record that is whole, and goes on.
func TestEveryTruncatedPrefix(t *testing.T) {
	w := write(t, 12)
	for cut := 0; cut <= len(w.bytes); cut++ {
		j, report := w.reopen(t, w.bytes[:cut])
		whole := 0
		for whole+1 < len(w.ends) && w.ends[whole+1] <= int64(cut) {
			whole++
		}
		name := fmt.Sprintf("cut at %d of %d", cut, len(w.bytes))
		got := readAll(t, j, firstJournal(j))
		if len(got) != whole || report.QuarantinedRecords() != 0 || len(report.Quarantined) != 0 {
			t.Fatalf("%s: %d entries read, %d are whole; %+v", name, len(got), whole, report)
		}
		for seq, s := range got {
			if s != w.entries[seq] {
				t.Fatalf("%s: seq %d is %q, was %q", name, seq, s, w.entries[seq])
			}
		}
		if int64(cut) >= w.ends[0] {
			if j.ID() != w.id || report.Began != "" {
				t.Fatalf("%s: a torn end began a new journal: %+v", name, report)
			}
			if seq := mustAppend(t, j, text("after")); seq != uint64(whole+1) {
				t.Fatalf("%s: appended as %d after %d", name, seq, whole)
			}
			if readAll(t, j, w.id)[uint64(whole+1)] != "after" {
				t.Fatalf("%s: what was appended cannot be read", name)
			}
		}
		j.Close()
	}
}

func firstJournal(j *Journal) string { return j.Journals()[0].ID }

// One flipped bit loses at most the record it hit, says so, and ends the journal.
func TestFlippedBits(t *testing.T) {
	w := write(t, 12)
	step := 3
	if proof.Wanted() {
		step = 1
	}
	marks := int64(len(w.bytes)) - 200 // zeros from here on
	for at := 0; at < len(w.bytes); at += step {
		for _, bit := range []int{at % 8, (at + 3) % 8} {
			raw := bytes.Clone(w.bytes)
			raw[at] ^= 1 << bit
			w.checkDamaged(t, raw, int64(at), int64(at)+1, marks)
		}
	}
}

// A stretch of zeros, or of noise, takes the records it touches and no other.
func TestDamagedStretches(t *testing.T) {
	w := write(t, 12)
	marks := int64(len(w.bytes)) - 200
	step := 37
	if proof.Wanted() {
		step = 5
	}
	for from := 0; from < int(marks)-frameLen; from += step {
		for _, n := range []int{8, 100, 300} {
			to := min(from+n, int(marks)-frameLen) // the last mark stays
			zeroed, noisy := bytes.Clone(w.bytes), bytes.Clone(w.bytes)
			clear(zeroed[from:to])
			for i := from; i < to; i++ {
				noisy[i] = byte(i*7 + i>>3)
			}
			copy(noisy[from:], frameMagic[:min(4, to-from)])
			w.checkDamaged(t, zeroed, int64(from), int64(to), marks)
			w.checkDamaged(t, noisy, int64(from), int64(to), marks)
		}
	}
}

// checkDamaged opens a file that was changed in [from, to), and of which end is
// where the last mark ends.
func (w written) checkDamaged(t *testing.T, raw []byte, from, to, end int64) {
	t.Helper()
	if bytes.Equal(raw, w.bytes) {
		return
	}
	j, report := w.reopen(t, raw)
	defer j.Close()
	name := fmt.Sprintf("bytes %d to %d", from, to)
	hit := func(seq int) bool { return from < w.ends[seq] && to > w.startOf(seq) }
	got := readAll(t, j, firstJournal(j))
	lost := 0
	for seq := 1; seq < len(w.ends); seq++ {
		s, ok := got[uint64(seq)]
		if hit(seq) {
			lost++
		}
		if ok == hit(seq) || ok && s != w.entries[uint64(seq)] {
			t.Fatalf("%s: seq %d hit %v, read %v %q; %+v", name, seq, hit(seq), ok, s, report)
		}
	}
	if n := report.QuarantinedRecords(); n != uint64(lost) {
		t.Fatalf("%s: %d records quarantined, %d were hit: %+v", name, n, lost, report)
	}
	// The last mark and what follows it hold nothing that could be lost.
	if from < end-frameLen {
		if report.Began != "damage in the one before" || j.ID() == w.id || report.Previous != w.id || len(report.Quarantined) == 0 {
			t.Fatalf("%s: no new journal: %+v", name, report)
		}
		q := report.Quarantined[0]
		changed := from // the first byte that is not what it was
		for raw[changed] == w.bytes[changed] {
			changed++
		}
		if q.Journal != w.id || filepath.Base(q.File) != w.name || q.Offset > changed || q.Offset+q.Bytes <= changed {
			t.Fatalf("%s: byte %d was the first to change, quarantined %+v", name, changed, q)
		}
	}
	if seq := mustAppend(t, j, text("after")); j.ID() != w.id && seq != 1 {
		t.Fatalf("%s: the new journal begins with %d", name, seq)
	}
	if !hit(len(w.ends)-1) && string(j.Positions()["range"]) != "after" && string(j.Positions()["range"]) != w.entries[uint64(len(w.ends)-1)] {
		t.Fatalf("%s: position %q", name, j.Positions()["range"])
	}
	if i := j.Journals()[0]; i.Bay != "north" || i.Studio != "Harbour Row" {
		t.Fatalf("%s: the journal forgot its bay: %+v", name, i)
	}
}

// startOf is where the frame of an entry begins.
func (w written) startOf(seq int) int64 {
	n := frameLen + len(appendPositions(nil, text(w.entries[uint64(seq)], "range").Positions)) + len(w.entries[uint64(seq)])
	return w.ends[seq] - int64(n)
}

// Damage that comes while the journal is open is found by whoever reads it.
func TestDamageWhileOpen(t *testing.T) {
	dir := t.TempDir()
	j, _ := openJournal(t, Options{Dir: dir})
	id := j.ID()
	for i := range 10 {
		mustAppend(t, j, text(fmt.Sprintf("shot %d", i+1)))
	}
	path := j.active().tail().path
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	raw[bytes.Index(raw, []byte("shot 4"))] ^= 4
	if err := os.WriteFile(path, raw, 0o640); err != nil {
		t.Fatal(err)
	}
	for range 2 { // the second time adds nothing
		if got := readAll(t, j, id); len(got) != 9 || got[4] != "" || got[5] != "shot 5" {
			t.Fatalf("read %v", got)
		}
		q := j.Journals()[0].Quarantined
		if len(q) != 1 || q[0].First != 4 || q[0].Last != 4 {
			t.Fatalf("quarantined %+v", q)
		}
	}
	if seq := mustAppend(t, j, text("next")); seq != 1 || j.ID() == id {
		t.Fatalf("went on in the damaged journal: %d", seq)
	}
}

// A file in the middle that is gone, or lost its end, is a counted gap.
func TestMissingFiles(t *testing.T) {
	build := func(t *testing.T) (dir, id string, files []string) {
		dir = t.TempDir()
		j, _ := openJournal(t, Options{Dir: dir, SegmentBytes: minSegmentBytes})
		for range 200 {
			mustAppend(t, j, text("some shot or other"))
		}
		id = j.ID()
		j.Close()
		files, _ = filepath.Glob(filepath.Join(dir, "*.journal"))
		slices.Sort(files)
		if len(files) < 4 {
			t.Fatalf("%d files", len(files))
		}
		return dir, id, files
	}
	seqOf := func(path string) uint64 {
		_, _, first, _ := parseSegmentName(filepath.Base(path))
		return first
	}
	t.Run("middle", func(t *testing.T) {
		dir, id, files := build(t)
		if err := os.Remove(files[1]); err != nil {
			t.Fatal(err)
		}
		j, report := openJournal(t, Options{Dir: dir})
		gone := seqOf(files[2]) - seqOf(files[1])
		if report.QuarantinedRecords() != gone || j.ID() == id || len(readAll(t, j, id)) != 200-int(gone) {
			t.Fatalf("%d gone: %+v", gone, report)
		}
	})
	t.Run("end", func(t *testing.T) {
		dir, id, files := build(t)
		if err := os.Truncate(files[1], 1000); err != nil {
			t.Fatal(err)
		}
		j, report := openJournal(t, Options{Dir: dir})
		if n := report.QuarantinedRecords(); n == 0 || j.ID() == id || len(readAll(t, j, id)) != 200-int(n) {
			t.Fatalf("%+v", report)
		}
	})
	t.Run("first", func(t *testing.T) { // as after a trim
		dir, id, files := build(t)
		if err := os.Remove(files[0]); err != nil {
			t.Fatal(err)
		}
		j, report := openJournal(t, Options{Dir: dir})
		if report.QuarantinedRecords() != 0 || j.ID() != id || j.First() != seqOf(files[1]) {
			t.Fatalf("%+v", report)
		}
	})
	t.Run("while open", func(t *testing.T) {
		dir, id, files := build(t)
		j, _ := openJournal(t, Options{Dir: dir})
		if err := os.Remove(files[1]); err != nil {
			t.Fatal(err)
		}
		gone := seqOf(files[2]) - seqOf(files[1])
		if got := readAll(t, j, id); len(got) != 200-int(gone) {
			t.Fatalf("%d read, %d gone", len(got), gone)
		}
		if q := j.Journals()[0].Quarantined; len(q) != 1 || q[0].Records() != gone {
			t.Fatalf("%+v", q)
		}
		if _, err := j.Append(context.Background(), text("on")); err != nil || j.ID() == id {
			t.Fatalf("%v, journal %s", err, j.ID())
		}
	})
}

// A block that the disk cannot read costs the records in it and no other.
func TestUnreadableBlock(t *testing.T) {
	d, dir := newMemDisk(), t.TempDir()
	j, _ := openJournal(t, Options{Dir: dir, disk: d})
	id := j.ID()
	starts := []int64{0}
	for i := 1; i <= 100; i++ {
		starts = append(starts, j.outEnd)
		mustAppend(t, j, text(fmt.Sprintf("shot %d %s", i, strings.Repeat("x", 300))))
	}
	d.badFrom, d.badTo = 2*blockBytes, 3*blockBytes
	lost := 0
	check := func(j *Journal) {
		t.Helper()
		got := readAll(t, j, id)
		lost = 0
		for seq := 1; seq <= 100; seq++ {
			n := int64(frameLen + 1 + len(fmt.Sprintf("shot %d ", seq)) + 300)
			hit := starts[seq] < d.badTo && starts[seq]+n > d.badFrom
			if _, ok := got[uint64(seq)]; ok == hit {
				t.Fatalf("seq %d hit %v, read %v", seq, hit, ok)
			}
			if hit {
				lost++
			}
		}
	}
	check(j)
	j.Close()
	j, report := openJournal(t, Options{Dir: dir, disk: d})
	check(j)
	if report.QuarantinedRecords() != uint64(lost) || lost == 0 || j.ID() == id {
		t.Fatalf("%d hit: %+v", lost, report)
	}
}

// After a failed sync the disk turns out to have lost what it once had.
func TestReadBackFindsDamage(t *testing.T) {
	d := newMemDisk()
	j, _ := openJournal(t, Options{Dir: t.TempDir(), disk: d})
	id := j.ID()
	mustAppend(t, j, text("one"))
	mustAppend(t, j, text("two"))
	stable := d.files[j.active().tail().path].stable
	stable[bytes.Index(stable, []byte("one"))] ^= 1
	d.failSync = 1
	if e := (*IOError)(nil); !errors.As(appendErr(j, "three"), &e) || e.Op != "sync" {
		t.Fatalf("acknowledged, or another error: %v", e)
	}
	if seq := mustAppend(t, j, text("three")); seq != 1 || j.ID() == id {
		t.Fatalf("went on in the damaged journal with %d", seq)
	}
	if got := readAll(t, j, id); len(got) != 1 || got[2] != "two" {
		t.Fatalf("read %v", got)
	}
	if q := j.Journals()[0].Quarantined; len(q) != 1 || q[0].First != 1 || q[0].Last != 1 {
		t.Fatalf("%+v", q)
	}
}

func appendErr(j *Journal, s string) error {
	_, err := j.Append(context.Background(), text(s))
	return err
}
