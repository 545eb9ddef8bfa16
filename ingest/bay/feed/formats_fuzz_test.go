package feed

import (
	"bytes"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
)

// FuzzFormats gives any bytes to a map of every format and habit: the same
// answer twice, entries that can be kept, and entries that are read again with
// the same map alone, without their file, as they were.
func FuzzFormats(f *testing.F) {
	var all []*Map
	for i, r := range Recipes() {
		m, err := ParseMap(r.Title, []byte(r.Map))
		if err != nil {
			f.Fatal(err)
		}
		all = append(all, m)
		var text []byte
		for _, x := range m.expected {
			text = append(text, x.text+"\n"...)
		}
		f.Add(i, text)
	}
	f.Fuzz(func(t *testing.T, which int, data []byte) {
		m := all[uint(which)%uint(len(all))]
		first, _, err := ParseAll(m, "f", bytes.NewReader(data), testStamp)
		if err != nil && m.Whole() {
			return // the bytes are no such table, which is said
		}
		if err != nil {
			t.Fatal(err)
		}
		again, _, err := ParseAll(m, "f", bytes.NewReader(data), testStamp)
		if err != nil || len(again) != len(first) {
			t.Fatalf("%d entries, then %d, %v", len(first), len(again), err)
		}
		for i, e := range first {
			if !proto.Equal(e, again[i]) {
				t.Fatalf("entry %v, then %v", e, again[i])
			}
			if _, err := proto.Marshal(e); err != nil {
				t.Fatalf("line %d can't be kept: %v", e.Line, err)
			}
		}
		reader := NewAgain(m, "")
		for _, e := range first {
			reader.Line(e, first[:1], time.Unix(9, 0)) // no panic, whatever stands above
		}
	})
}
