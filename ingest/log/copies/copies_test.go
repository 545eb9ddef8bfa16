package copies

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
)

func said(i int, words string) []byte {
	data, _ := proto.Marshal(&event.VisitEvent{Id: fmt.Sprintf("e%03d", i), Who: words})
	return data
}

func open(t *testing.T, path string) *Copies {
	t.Helper()
	c, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	return c
}

// Copies outlive a restart; a copy that takes another's place leaves nothing of
// it in the file.
func TestCopiesAreKeptAndReplaced(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), File)
	c := open(t, path)
	for i := range 5 {
		if r := c.Answer(&event.Keep{Events: [][]byte{said(2*i, "first words"), said(2*i+1, "first words")}}); r.Error != "" || r.Sent != 2 {
			t.Fatal(r)
		}
	}
	if r := c.Answer(&event.Keep{Events: [][]byte{said(3, "erased")}}); r.Error != "" {
		t.Fatal(r.Error)
	}
	n, sum := c.State()
	again := open(t, path)
	if m, s := again.State(); n != 10 || m != n || s != sum {
		t.Errorf("%d copies of sum %d, read back %d of %d", n, sum, m, s)
	}
	list := again.Answer(&event.Keep{List: true, After: "e001"})
	if len(list.Kept) != 8 || list.Kept[0].Id != "e002" || list.More {
		t.Errorf("list %v", list)
	}
	got := again.Answer(&event.Keep{Want: []string{"e003", "e099", "e004"}})
	if len(got.Kept) != 2 || !bytes.Equal(got.Kept[0].Event, said(3, "erased")) {
		t.Errorf("wanted %v", got)
	}
	text, err := os.ReadFile(path)
	if err != nil || bytes.Count(text, []byte("first words")) != 9 {
		t.Errorf("what was replaced is still in the file: %v", err)
	}
}

// Whatever happened to the file, what can be read of it up to there is kept, and
// what comes is kept after it.
func TestDamagedCopies(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), File)
	c := open(t, path)
	for i := range 6 {
		c.Answer(&event.Keep{Events: [][]byte{said(i, "words")}})
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for cut := range len(whole) {
		text := bytes.Clone(whole[:cut])
		if cut%2 == 1 { // a flipped bit in its place
			text = bytes.Clone(whole)
			text[cut] ^= 4
		}
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		c := open(t, path)
		before, _ := c.State()
		if r := c.Answer(&event.Keep{Events: [][]byte{said(50, "words")}}); r.Error != "" {
			t.Fatal(r.Error)
		}
		again := open(t, path)
		after, _ := again.State()
		if before > 6 || after != before+1 {
			t.Fatalf("at %d: %d copies, then %d", cut, before, after)
		}
	}
}

// Copies that are written anew are the same events with other words, and nothing of
// what was said before is left, what was torn included.
func TestCopiesAreWrittenAnew(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), File)
	swap := func(data []byte) ([]byte, error) {
		ev := &event.VisitEvent{}
		if err := proto.Unmarshal(data, ev); err != nil {
			return nil, err
		}
		if ev.Who == "words" {
			ev.Who = "sealed"
		}
		return proto.Marshal(ev)
	}
	if n, err := Rewrite(path, swap); n != 0 || err != nil {
		t.Fatalf("none there: %d, %v", n, err)
	}
	c := open(t, path)
	for i := range 6 {
		c.Answer(&event.Keep{Events: [][]byte{said(i, []string{"words", "plain"}[i%2])}})
	}
	f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	f.WriteString("torn words")
	f.Close()
	for want := range 2 {
		if n, err := Rewrite(path, swap); n != 3*(1-want) || err != nil {
			t.Fatalf("%d, %v", n, err)
		}
	}
	seen := 0
	if err := Look(path, func([]byte) error { seen++; return nil }); err != nil || seen != 6 {
		t.Errorf("%d, %v", seen, err)
	}
	if text, err := os.ReadFile(path); err != nil || bytes.Contains(text, []byte("words")) || bytes.Count(text, []byte("plain")) != 3 {
		t.Errorf("%q, %v", text, err)
	}
}
