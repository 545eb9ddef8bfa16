package feed

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"google.golang.org/protobuf/proto"
)

// FuzzLines gives any bytes to the example maps: no panic, no lost line, no
// value that is not finite, and the same answer twice.
func FuzzLines(f *testing.F) {
	maps := map[string]*Map{}
	names := []string{"alder", "brook", "cedar", "dune", "ember"}
	for i, name := range names {
		m, data := example(f, name)
		maps[name] = m
		f.Add(i, data)
	}
	f.Add(0, []byte{})
	f.Add(3, []byte{0xFF, 0xFE, '\n'})
	f.Fuzz(func(t *testing.T, which int, data []byte) {
		name := names[uint(which)%uint(len(names))]
		first, skipped, err := ParseAll(maps[name], "f", bytes.NewReader(data), testStamp)
		if err != nil {
			t.Fatal(err)
		}
		again, _, err := ParseAll(maps[name], "f", bytes.NewReader(data), testStamp)
		if err != nil || len(again) != len(first) {
			t.Fatalf("%d entries, then %d, %v", len(first), len(again), err)
		}
		for i, e := range first {
			if len(e.ShotId) != 16 || e.Line == 0 || !proto.Equal(e, again[i]) {
				t.Fatalf("entry %v, then %v", e, again[i])
			}
			for _, m := range e.Measures {
				if math.IsNaN(m.Value) || math.IsInf(m.Value, 0) {
					t.Fatalf("line %d: %v", e.Line, m)
				}
			}
			if _, err := ShotJSON(e); err != nil {
				t.Fatal(err)
			}
			if _, err := proto.Marshal(e); err != nil {
				t.Fatalf("line %d can't be kept: %v", e.Line, err)
			}
		}
		if n := uint64(len(first)) + skipped.Total(); len(first) > 0 && first[len(first)-1].Line > n {
			t.Fatalf("%d entries and %d skipped, and the last line is %d", len(first), skipped.Total(), first[len(first)-1].Line)
		}
	})
}

// FuzzMaps gives any text as a field map: a map that works, or a *MapError.
func FuzzMaps(f *testing.F) {
	for name := range examples {
		data, err := os.ReadFile(filepath.Join(exampleDir, name+".yaml"))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte(goodMap))
	f.Add([]byte("map: &a 1\ndevice: *a\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ParseMap("x.yaml", data)
		var bad *MapError
		if err != nil {
			if !errors.As(err, &bad) || bad.Reason == "" {
				t.Fatalf("error without a reason: %#v", err)
			}
			return
		}
		if _, _, err := ParseAll(m, "f", bytes.NewReader([]byte("a;b\n1;2\n{\"a\":1}\n")), testStamp); err != nil {
			t.Fatal(err)
		}
	})
}
