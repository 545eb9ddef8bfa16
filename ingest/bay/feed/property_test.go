package feed

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

// growing is a reader that sees a file as it grows, in steps, as a Tail does.
type growing struct{ data []byte }

func (g *growing) ReadAt(p []byte, off int64) (int, error) {
	return bytes.NewReader(g.data).ReadAt(p, off)
}

// drainGrowing parses a file that grows by the given cuts, and is read anew by a
// new life after each restart.
func drainGrowing(t interface{ Fatal(...any) }, m *Map, file string, data []byte, cuts []int, restart func(i int) bool) []*event.Entry {
	g := &growing{}
	r := newFileReader(m, file, g)
	var out []*event.Entry
	for i, cut := range append(cuts, len(data), len(data)) {
		g.data = data[:cut]
		for {
			d, ok, err := r.step(i > len(cuts)) // at the very end the last line may lack its end
			if err != nil {
				break
			}
			if ok {
				out = append(out, d.Finish(testStamp))
			}
		}
		if restart(i) && r.lines.off > 0 {
			off := r.lines.off
			r = newFileReader(m, file, g)
			if err := r.resume(off); err != nil {
				t.Fatal(err)
			}
		}
	}
	return out
}

func same(t interface{ Fatalf(string, ...any) }, what string, got, want []*event.Entry) {
	if len(got) != len(want) {
		t.Fatalf("%s: %d entries, want %d", what, len(got), len(want))
	}
	for i := range got {
		// Each life says once what stands above: what the file said last is in it.
		if last := want[i].Layout[strings.LastIndexByte(want[i].Layout, '\n')+1:]; got[i].Layout != "" && strings.HasSuffix(got[i].Layout, last) {
			got[i].Layout = want[i].Layout
		}
		if !proto.Equal(got[i], want[i]) {
			t.Fatalf("%s: entry %d\n got %v\nwant %v", what, i, got[i], want[i])
		}
	}
}

// TestEveryPrefix cuts each example at every byte (every 13th in a short run):
// what is read before and after the cut is what is read at once.
func TestEveryPrefix(t *testing.T) {
	for name, file := range examples {
		m, data := example(t, name)
		want, _, err := ParseAll(m, file, bytes.NewReader(data), testStamp)
		if err != nil {
			t.Fatal(err)
		}
		step := 13 // bytes; no divisor of the encodings' widths
		if proof.Wanted() {
			step = 1
		}
		for cut := 0; cut <= len(data); cut += step {
			restart := cut%2 == 0
			got := drainGrowing(t, m, file, data, []int{cut}, func(int) bool { return restart })
			same(t, fmt.Sprintf("%s cut at %d", name, cut), got, want)
		}
	}
}

// TestAppends lets files of odd lines grow in odd steps, with restarts.
func TestAppends(t *testing.T) {
	m := parsed(t, plainMap)
	wide := parsed(t, strings.Replace(plainMap, "format: csv\n", "format: csv\nencoding: utf-16\n", 1))
	proof.Check(t, func(t *rapid.T) {
		line := rapid.OneOf(
			rapid.SampledFrom([]string{"50.1;120", "50.1;120", "50.2;121", "", "Carry;Ball", "Ball;Carry", "\x00\x00\x00", "50.1;12\xff", "x;y;z",
				";", "\"50;1\";2"}),
			rapid.Just(strings.Repeat("7", MaxLine+1)),
			rapid.Just(strings.Repeat("\x00", 3*bufBytes)),
		)
		text := strings.Join(rapid.SliceOfN(line, 1, 12).Draw(t, "lines"), rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "end"))
		data, m := []byte(plainHeader+text), m
		if rapid.Bool().Draw(t, "wide") {
			m = wide
			data = []byte{0xFF, 0xFE}
			for _, b := range []byte(plainHeader + text) {
				data = append(data, b, 0)
			}
		}
		want, _, err := ParseAll(m, "f.csv", bytes.NewReader(data), testStamp)
		if err != nil {
			t.Fatal(err)
		}
		var cuts []int
		for at := 0; at < len(data); {
			at = min(len(data), at+rapid.IntRange(1, 1+len(data)/3).Draw(t, "step"))
			cuts = append(cuts, at)
		}
		restarts := rapid.SliceOfN(rapid.Bool(), len(cuts)+2, len(cuts)+2).Draw(t, "restarts")
		same(t, "appended", drainGrowing(t, m, "f.csv", data, cuts, func(i int) bool { return restarts[i] }), want)
	})
}

// TestOccurrencesStayExact counts equal lines past several tables, some more
// often than a table counts, also after a restart.
func TestOccurrencesStayExact(t *testing.T) {
	m := parsed(t, plainMap)
	var b bytes.Buffer
	b.WriteString(plainHeader)
	n := 12 * firstPrints
	for i := range n {
		k := i
		if i%7 == 0 {
			k = i / 2 // seen before, some of it in an earlier table
		}
		if i%11 == 0 {
			k = 5
		}
		fmt.Fprintf(&b, "%d.%05d;100\n", 40+k%20, k)
	}
	want := map[string]uint64{}
	r := newFileReader(m, "f.csv", bytes.NewReader(b.Bytes()))
	for i := 0; ; i++ {
		d, ok, err := r.step(true)
		if err != nil {
			if i < n {
				t.Fatal(err)
			}
			break
		}
		if !ok {
			continue
		}
		want[string(d.Entry.Raw)]++
		if d.occurrence != want[string(d.Entry.Raw)] {
			t.Fatalf("line %d is occurrence %d, counted %d", d.Entry.Line, want[string(d.Entry.Raw)], d.occurrence)
		}
		if i == n/3 || i == n-500 {
			off := r.lines.off
			r = newFileReader(m, "f.csv", bytes.NewReader(b.Bytes()))
			if err := r.resume(off); err != nil {
				t.Fatal(err)
			}
		}
	}
	if len(r.p.seen.tables) < 4 {
		t.Fatal("the test never left the first tables")
	}
}

// TestRotationsLoseNothing writes, rotates and restarts at random, and expects
// every line, in order, each once.
func TestRotationsLoseNothing(t *testing.T) {
	m := parsed(t, plainMap)
	proof.Check(t, func(rt *rapid.T) {
		dir, err := os.MkdirTemp("", "rotations")
		if err != nil {
			rt.Fatal(err)
		}
		defer os.RemoveAll(dir)
		path := filepath.Join(dir, "shots.csv")
		k, written := newKeeper(), 1
		write(t, path, plainHeader+rows(0, 1))
		stop := running(t, tailOf(t, m, path), k)
		up, done := true, []string{}
		defer func() {
			if t.Failed() {
				t.Logf("after %v", done)
			}
		}()
		k.until(t, 1) // what was rotated away before the first look is nobody's
		for _, step := range rapid.SliceOfN(rapid.SampledFrom([]string{"write", "write", "half", "rotate", "copy", "stop", "start"}), 3,
			10).Draw(rt, "steps") {
			done = append(done, step)
			switch step {
			case "write":
				n := rapid.IntRange(1, 3).Draw(rt, "n")
				write(t, path, rows(written, n))
				written += n
			case "half":
				line := rows(written, 1)
				write(t, path, line[:4])
				if up {
					proof.Pause(t, time.Millisecond)
				}
				write(t, path, line[4:])
				written++
			case "rotate", "copy":
				for i := 8; i > 0; i-- {
					if from := fmt.Sprintf("%s.%d", path, i); exists(from) {
						rename(t, from, fmt.Sprintf("%s.%d", path, i+1))
					}
				}
				if step == "rotate" {
					rename(t, path, path+".1")
				} else {
					if up {
						// Cutting a file short may take what is written at that
						// very instant; no reader can help that.
						k.untilAll(t, written)
					}
					data, err := os.ReadFile(path)
					if err != nil {
						rt.Fatal(err)
					}
					write(t, path+".1", string(data))
					if err := os.Truncate(path, 0); err != nil {
						rt.Fatal(err)
					}
				}
				write(t, path, plainHeader+rows(written, 1))
				written++
			case "stop":
				if up {
					stop()
				}
				up = false
			case "start":
				if !up {
					stop = running(t, tailOf(t, m, path), k)
				}
				up = true
			}
		}
		if !up {
			stop = running(t, tailOf(t, m, path), k)
		}
		defer stop()
		k.untilAll(t, written)
	})
}

// untilAll waits until the first n rows have come. A repeat is allowed (it has
// the same shot id), a loss is not.
func (k *keeper) untilAll(t testing.TB, n int) {
	t.Helper()
	deadline := time.After(20 * time.Second)
	for {
		seen := map[string]bool{}
		k.mu.Lock()
		for _, e := range k.entries {
			seen[string(e.Raw)] = true
		}
		k.mu.Unlock()
		missing := []string{}
		for _, line := range strings.Split(strings.TrimSuffix(rows(0, n), "\n"), "\n") {
			if !seen[line] {
				missing = append(missing, line)
			}
		}
		if len(missing) == 0 {
			return
		}
		select {
		case <-k.wake:
		case <-deadline:
			t.Fatalf("lost %v of %d", missing, n)
		}
	}
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
