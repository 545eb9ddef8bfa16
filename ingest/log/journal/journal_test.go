package journal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) {
	helperProcess() // does not return when this run is a test's helper
	goleak.VerifyTestMain(m)
}

func openJournal(t testing.TB, o Options) (*Journal, Report) {
	t.Helper()
	if o.Machine == "" {
		o.Machine = "this one"
	}
	if o.Studio == "" {
		o.Studio, o.Bay = "Harbour Row", "north"
	}
	j, report, err := Open(o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { j.Close() })
	return j, report
}

func mustAppend(t testing.TB, j *Journal, recs ...Record) uint64 {
	t.Helper()
	first, err := j.Append(context.Background(), recs...)
	if err != nil {
		t.Fatal(err)
	}
	return first
}

func text(s string, feed ...string) Record {
	r := Record{Payload: []byte(s)}
	for _, f := range feed {
		r.Positions = append(r.Positions, Position{Feed: f, Data: []byte(s)})
	}
	return r
}

// readAll returns what a journal holds, seq to payload, and checks the order.
func readAll(t testing.TB, j *Journal, id string) map[uint64]string {
	t.Helper()
	r := j.Read(id, 1)
	defer r.Close()
	got := map[uint64]string{}
	last := uint64(0)
	for {
		e, ok, err := r.TryNext()
		if errors.Is(err, io.EOF) || err == nil && !ok {
			return got
		}
		if err != nil {
			t.Fatal(err)
		}
		if e.Seq <= last {
			t.Fatalf("seq %d after %d", e.Seq, last)
		}
		last = e.Seq
		got[e.Seq] = string(e.Payload)
	}
}

func TestAppendReadReopen(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "bay", "north")
	j, report := openJournal(t, Options{Dir: dir, SegmentBytes: 8 << 10})
	if report.Began != "first in this folder" || j.Last() != 0 || j.First() != 1 {
		t.Fatalf("new journal: %+v, first %d, last %d", report, j.First(), j.Last())
	}
	id := j.ID()
	const n = 500
	for i := 1; i <= n; i++ {
		if seq := mustAppend(t, j, text(fmt.Sprintf("shot %d", i), "range")); seq != uint64(i) {
			t.Fatalf("seq %d, want %d", seq, i)
		}
	}
	if seq := mustAppend(t, j, text("a"), text("b"), text("c", "range", "putt")); seq != n+1 {
		t.Fatalf("seq %d of a group, want %d", seq, n+1)
	}
	if err := j.SetPositions(context.Background(), Position{Feed: "folder", Data: []byte("x")}); err != nil {
		t.Fatal(err)
	}
	check := func(j *Journal) {
		t.Helper()
		got := readAll(t, j, id)
		if len(got) != n+3 || got[1] != "shot 1" || got[n] != fmt.Sprintf("shot %d", n) || got[n+3] != "c" {
			t.Fatalf("%d entries read, first %q", len(got), got[1])
		}
		p := j.Positions()
		if len(p) != 3 || string(p["range"]) != "c" || string(p["putt"]) != "c" || string(p["folder"]) != "x" {
			t.Fatalf("positions %q", p)
		}
		infos := j.Journals()
		if len(infos) != 1 || infos[0].Last != n+3 || !infos[0].Active || infos[0].Bay != "north" || len(infos[0].Quarantined) != 0 {
			t.Fatalf("journals %+v", infos)
		}
	}
	check(j)
	if _, _, err := Open(Options{Dir: dir}); !errors.Is(err, ErrLocked) {
		t.Fatalf("second open: %v", err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	j, report = openJournal(t, Options{Dir: dir, SegmentBytes: 8 << 10})
	if report.Began != "" || report.Torn != nil || report.Waiting != nil || j.ID() != id || j.Last() != n+3 {
		t.Fatalf("opened again: %+v", report)
	}
	check(j)
	if files, _ := filepath.Glob(filepath.Join(dir, "*.journal")); len(files) < 3 {
		t.Fatalf("%d files, several were due", len(files))
	}
}

func TestConcurrentAppends(t *testing.T) {
	j, _ := openJournal(t, Options{Dir: t.TempDir(), SegmentBytes: 32 << 10})
	const writers, each = 16, 40
	var (
		wg   sync.WaitGroup
		mu   sync.Mutex
		want = map[uint64]string{}
	)
	ctx, cancel := context.WithCancel(context.Background())
	read := make(chan map[uint64]string)
	go func() {
		r, got := j.Read("", 1), map[uint64]string{}
		defer r.Close()
		for len(got) < writers*each*2 {
			e, err := r.Next(ctx)
			if err != nil {
				break
			}
			got[e.Seq] = string(e.Payload)
		}
		read <- got
	}()
	for w := range writers {
		wg.Go(func() {
			for i := range each {
				a, b := fmt.Sprintf("%d/%d/a", w, i), fmt.Sprintf("%d/%d/b", w, i)
				first, err := j.Append(context.Background(), text(a, fmt.Sprint(w)), text(b))
				if err != nil {
					t.Error(err)
					return
				}
				mu.Lock()
				want[first], want[first+1] = a, b
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	got := <-read
	cancel()
	if len(want) != writers*each*2 || len(got) != len(want) {
		t.Fatalf("%d read, %d acknowledged", len(got), len(want))
	}
	for seq, payload := range want {
		if got[seq] != payload {
			t.Fatalf("seq %d: read %q, acknowledged %q", seq, got[seq], payload)
		}
	}
}

// tempDir is t.TempDir for property tests.
func tempDir(t interface {
	Fatal(...any)
	Cleanup(func())
}) string {
	dir, err := os.MkdirTemp("", "journal")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}
