package feed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

// plainMap is a headed CSV without a shot id, so that occurrences count.
const plainMap = `map: 1
device: alder
role: ball
format: csv
csv: {delimiter: ";"}
shot_id: {scope: device}
fields:
  ball_speed: {column: Ball, unit: m/s}
  carry: {column: Carry, unit: m}
`

const plainHeader = "Ball;Carry\n"

func parsed(t testing.TB, text string) *Map {
	t.Helper()
	m, err := ParseMap("test.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

var testStamp = Stamp{Studio: "harbour-row", Bay: "north", Feed: "one", Received: time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)}

// keeper is an Emit that keeps everything, as a journal would.
type keeper struct {
	mu      sync.Mutex
	entries []*event.Entry
	pos     []byte
	wake    chan struct{}
	fail    func(n int) error // called before the n-th batch is kept
	batches int
}

func newKeeper() *keeper { return &keeper{wake: make(chan struct{}, 1)} }

func (k *keeper) emit(_ context.Context, b Batch) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.batches++
	if k.fail != nil {
		if err := k.fail(k.batches); err != nil {
			return err
		}
	}
	for _, d := range b.Drafts {
		k.entries = append(k.entries, d.Finish(testStamp))
	}
	k.pos = b.Position
	select {
	case k.wake <- struct{}{}:
	default:
	}
	return nil
}

// until waits for n entries and returns all there are.
func (k *keeper) until(t testing.TB, n int) []*event.Entry {
	t.Helper()
	deadline := time.After(20 * time.Second)
	for {
		k.mu.Lock()
		have := append([]*event.Entry(nil), k.entries...)
		k.mu.Unlock()
		if len(have) >= n {
			return have
		}
		select {
		case <-k.wake:
		case <-deadline:
			t.Fatalf("%d of %d entries came: %v", len(have), n, raws(have))
		}
	}
}

func raws(entries []*event.Entry) (out []string) {
	for _, e := range entries {
		out = append(out, string(e.Raw))
	}
	return out
}

// running starts a source from the keeper's position and returns its stop.
func running(t testing.TB, s Source, k *keeper) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	k.mu.Lock()
	from := k.pos
	k.mu.Unlock()
	go func() { done <- s.Run(ctx, from, k.emit) }()
	return func() {
		t.Helper()
		cancel()
		if err := <-done; !errors.Is(err, context.Canceled) {
			t.Fatalf("Run: %v", err)
		}
	}
}

func tailOf(t testing.TB, m *Map, path string) *Tail {
	t.Helper()
	s, err := NewTail(TailConfig{Map: m, Path: path, Poll: 5 * time.Millisecond, Settle: 20 * time.Millisecond,
		LastLine: 60 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func write(t testing.TB, path, text string) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.WriteString(text); err != nil {
		t.Fatal(err)
	}
}

func rename(t testing.TB, from, to string) {
	t.Helper()
	if err := os.Rename(from, to); err != nil {
		t.Fatal(err)
	}
}

// rows returns n valid lines, numbered from first.
func rows(first, n int) string {
	var b strings.Builder
	for i := first; i < first+n; i++ {
		fmt.Fprintf(&b, "%d.%03d;%d\n", 50+i/1000, i%1000, 100)
	}
	return b.String()
}

func wantRaws(t testing.TB, got []*event.Entry, text string) {
	t.Helper()
	want := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	if fmt.Sprint(raws(got)) != fmt.Sprint(want) {
		t.Fatalf("lines\n got %q\nwant %q", raws(got), want)
	}
}

func TestTailFollows(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "later", "shots.csv")
	k := newKeeper()
	s := tailOf(t, parsed(t, plainMap), path)
	stop := running(t, s, k)
	defer stop()
	if err := os.Mkdir(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	write(t, path, "\xef\xbb\xbfBall;Carry\r\n50.1;120\r\n50.")
	k.until(t, 1)
	write(t, path, "2;12")
	write(t, path, "1\r\n\r\n")
	k.until(t, 2)
	write(t, path, "Carry;Ball\n130;50.3\n50.4;oops\n")
	got := k.until(t, 4)
	wantRaws(t, got, "50.1;120\n50.2;121\n130;50.3\n50.4;oops\n")
	for i, line := range []uint64{2, 3, 6, 7} {
		if got[i].Line != line || got[i].File != "shots.csv" {
			t.Errorf("entry %d stands at %s:%d, want line %d", i, got[i].File, got[i].Line, line)
		}
	}
	if v, _ := got[2].Get(event.Field_FIELD_BALL_SPEED); v != 50.3 || !got[2].Valid() {
		t.Errorf("after a changed header: ball speed %v, faults %v", v, got[2].Faults)
	}
	if got[3].Valid() {
		t.Errorf("a broken line is taken for a shot: %v", got[3])
	}
}

func TestTailRotation(t *testing.T) {
	for _, down := range []bool{false, true} {
		t.Run(fmt.Sprintf("down=%v", down), func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "shots.csv")
			k := newKeeper()
			m := parsed(t, plainMap)
			write(t, path, plainHeader+rows(0, 3))
			stop := running(t, tailOf(t, m, path), k)
			k.until(t, 3)
			if down {
				stop()
			}
			write(t, path, rows(3, 2)+"50.005;100") // a last line without its end
			rename(t, path, path+".1")
			write(t, path, plainHeader+rows(6, 2))
			if down {
				rename(t, path+".1", path+".2")
				rename(t, path, path+".1")
				write(t, path, plainHeader+rows(8, 2))
				stop = running(t, tailOf(t, m, path), k)
				k.until(t, 10)
			} else {
				k.until(t, 8)
				rename(t, path, path+".2")
				write(t, path, plainHeader+rows(8, 2))
			}
			wantRaws(t, k.until(t, 10), rows(0, 10))
			stop()
		})
	}
}

func TestTailCopyTruncate(t *testing.T) {
	for _, down := range []bool{false, true} {
		t.Run(fmt.Sprintf("down=%v", down), func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "shots.csv")
			k := newKeeper()
			m := parsed(t, plainMap)
			write(t, path, plainHeader+rows(0, 3))
			stop := running(t, tailOf(t, m, path), k)
			k.until(t, 3)
			stop()
			write(t, path, rows(3, 2))
			whole, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !down {
				stop = running(t, tailOf(t, m, path), k)
				k.until(t, 5)
			}
			write(t, path+".1", string(whole))
			if err := os.Truncate(path, 0); err != nil {
				t.Fatal(err)
			}
			write(t, path, plainHeader+rows(5, 4))
			if down {
				stop = running(t, tailOf(t, m, path), k)
			}
			wantRaws(t, k.until(t, 9), rows(0, 9))
			stop()
		})
	}
}

func TestTailDatedFiles(t *testing.T) {
	dir := t.TempDir()
	k := newKeeper()
	m := parsed(t, plainMap)
	for day := 1; day <= 7; day++ {
		write(t, filepath.Join(dir, fmt.Sprintf("shots-2026-05-%02d.csv", day)), plainHeader+rows(day*10, 2))
		proof.Pause(t, 5*time.Millisecond) // one after the other, by their times too
	}
	stop := running(t, tailOf(t, m, filepath.Join(dir, "shots-*.csv")), k)
	k.until(t, 14)
	stop()
	write(t, filepath.Join(dir, "shots-2026-05-07.csv"), rows(72, 1))
	write(t, filepath.Join(dir, "shots-2026-05-08.csv"), plainHeader+rows(80, 1))
	stop = running(t, tailOf(t, m, filepath.Join(dir, "shots-*.csv")), k)
	k.until(t, 16)
	// The clock was set back: the new file looks older than all others.
	old := filepath.Join(dir, "shots-2026-05-00.csv")
	write(t, old+".new", plainHeader+rows(90, 1))
	if past := time.Now().Add(-time.Hour); os.Chtimes(old+".new", past, past) != nil {
		t.Fatal("cannot set a file's time")
	}
	rename(t, old+".new", old)
	k.until(t, 17)
	write(t, old, rows(91, 1))
	want := ""
	for day := 1; day <= 6; day++ {
		want += rows(day*10, 2)
	}
	wantRaws(t, k.until(t, 18), want+rows(70, 3)+rows(80, 1)+rows(90, 2))
	stop()
}

// TestBacklog tells lines that were there before from lines that come now.
func TestBacklog(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shots.csv")
	write(t, path, plainHeader+rows(0, 2))
	k := newKeeper()
	var backlog []bool
	emit := func(ctx context.Context, b Batch) error {
		for range b.Drafts {
			backlog = append(backlog, b.Backlog)
		}
		return k.emit(ctx, b)
	}
	s := tailOf(t, parsed(t, plainMap), path)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx, nil, emit) }()
	k.until(t, 2)
	proof.Until(t, "the backlog is read", func() bool { return s.State().Detail == "" && s.State().State == StateOK })
	proof.Pause(t, 20*time.Millisecond) // past the look that finds nothing more
	write(t, path, rows(2, 1))
	k.until(t, 3)
	cancel()
	<-done
	if fmt.Sprint(backlog) != "[true true false]" {
		t.Errorf("backlog %v", backlog)
	}
}

// cutting is a file that is begun anew by its writer at the moment at which it is read.
type cutting struct {
	io.ReaderAt
	begin func()
}

func (c *cutting) ReadAt(p []byte, at int64) (int, error) {
	if c.begin != nil {
		c.begin()
		c.begin = nil
	}
	return c.ReaderAt.ReadAt(p, at)
}

// A file that is copied and cut short between the look at it and the reading, and is
// by then longer than it was, is read from its start.
func TestAFileCutShortWhileItIsReadIsReadFromItsStart(t *testing.T) {
	for name, anew := range map[string]struct {
		text string
		rows int // in all
	}{
		"by lines":              {rows(2, 3), 5},
		"by one, and by blanks": {rows(2, 1) + strings.Repeat("\n", 40), 3},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "shots.csv")
			write(t, path, plainHeader+rows(0, 2))
			k, tail := newKeeper(), tailOf(t, parsed(t, plainMap), path)
			tail.emit, tail.fresh = k.emit, map[string]bool{}
			defer tail.drop()
			if err := tail.pass(t.Context()); err != nil || len(k.entries) != 2 {
				t.Fatalf("%d entries, %v", len(k.entries), err)
			}
			tail.cur.r.lines.r = &cutting{tail.cur.f, func() {
				data, err := os.ReadFile(path)
				if err != nil {
					t.Fatal(err)
				}
				write(t, path+".1", string(data))
				if err := os.Truncate(path, 0); err != nil {
					t.Fatal(err)
				}
				write(t, path, plainHeader+anew.text)
			}}
			if err := tail.pass(t.Context()); err != nil {
				t.Fatal(err)
			}
			k.untilAll(t, anew.rows)
			if len(k.entries) != anew.rows {
				t.Errorf("%d entries of %d lines", len(k.entries), anew.rows)
			}
		})
	}
}
