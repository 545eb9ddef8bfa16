package journal

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"
)

// Files go only when the store has all that is in them and they are old enough;
// the read positions outlive them.
func TestTrim(t *testing.T) {
	now := time.Unix(1_700_000_000, 0)
	o := Options{Dir: t.TempDir(), SegmentBytes: minSegmentBytes, Now: func() time.Time { return now }}
	j, _ := openJournal(t, o)
	id := j.ID()
	if err := j.SetPositions(context.Background(), Position{"once", []byte("long ago")}); err != nil {
		t.Fatal(err)
	}
	for day := range 10 {
		for i := range 30 {
			mustAppend(t, j, text(fmt.Sprintf("day %d, shot %d, and its numbers", day, i), "range"))
		}
		now = now.Add(24 * time.Hour)
	}
	trim := func(olderThan time.Time) Trimmed {
		t.Helper()
		got, err := j.Trim(olderThan)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	if got := trim(now); got.Files != 0 {
		t.Fatalf("nothing is confirmed, and gone are %+v", got)
	}
	fileEnd := j.active().segments[0].last
	j.SetFloor(id, fileEnd) // its last entry is not below the floor
	if got := trim(now); got.Files != 0 {
		t.Fatalf("the store lacks %d, and gone are %+v", fileEnd, got)
	}
	j.SetFloor(id, 101)
	if got := trim(now.Add(-20 * 24 * time.Hour)); got.Files != 0 {
		t.Fatalf("nothing is old, and gone are %+v", got)
	}
	got := trim(now)
	if got.Files == 0 || j.First() > 101 || j.First() == 1 || got.Entries != j.First()-1 || got.Bytes <= 0 {
		t.Fatalf("confirmed below 101: gone are %+v, first is %d", got, j.First())
	}
	j.SetFloor(id, 50) // a floor does not sink
	j.SetFloor(id, 10_000)
	kept := now.Add(-3 * 24 * time.Hour)
	trim(kept)
	first := j.First()
	r := j.Read(id, 1)
	defer r.Close()
	e, err := r.Next(context.Background())
	if err != nil || e.Seq != first || e.At.After(kept.Add(24*time.Hour)) || first < 150 {
		t.Fatalf("first %d, read %d of %v, %v", first, e.Seq, e.At, err)
	}
	trim(now)
	if files, _ := filepath.Glob(filepath.Join(o.Dir, "*.journal")); len(files) != 1 || j.Last() != 300 {
		t.Fatalf("%d files, last %d", len(files), j.Last())
	}

	// A journal that ended goes altogether.
	if err := j.Rotate("test"); err != nil {
		t.Fatal(err)
	}
	if len(j.Journals()) != 2 {
		t.Fatal("the one before is gone at once")
	}
	trim(now.Add(time.Hour))
	if infos := j.Journals(); len(infos) != 1 || infos[0].ID == id {
		t.Fatalf("%+v", infos)
	}
	j.Close()
	j, report := openJournal(t, o)
	if report.Began != "" || len(report.Quarantined) != 0 {
		t.Fatalf("%+v", report)
	}
	p := j.Positions()
	if string(p["once"]) != "long ago" || string(p["range"]) != "day 9, shot 29, and its numbers" {
		t.Fatalf("positions %v", p)
	}
	if seq := mustAppend(t, j, text("next")); seq != 1 {
		t.Fatalf("seq %d", seq)
	}
}

// A reader that stands in a file that is trimmed away goes on with the next.
func TestTrimUnderReader(t *testing.T) {
	j, _ := openJournal(t, Options{Dir: t.TempDir(), SegmentBytes: minSegmentBytes})
	for range 200 {
		mustAppend(t, j, text("some shot or other"))
	}
	r := j.Read("", 1)
	defer r.Close()
	if e, err := r.Next(context.Background()); err != nil || e.Seq != 1 {
		t.Fatal(e, err)
	}
	j.SetFloor(j.ID(), 1000)
	if _, err := j.Trim(time.Now().Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	last := uint64(1)
	for {
		e, ok, err := r.TryNext()
		if err != nil {
			t.Fatal(err)
		}
		if !ok {
			break
		}
		last = e.Seq
	}
	if last != 200 {
		t.Fatalf("read up to %d", last)
	}
	for _, i := range j.Journals() {
		if len(i.Quarantined) > 0 {
			t.Fatalf("%+v", i)
		}
	}
}
