package journal

import (
	"bytes"
	"testing"
	"time"
)

// FuzzSegment: whatever a file holds, scanning it ends, stays within it, and
// gives numbers in order.
func FuzzSegment(f *testing.F) {
	w := write(f, 6)
	f.Add(w.bytes, uint64(1), uint64(0))
	f.Add(w.bytes[:w.ends[3]+5], uint64(1), uint64(0))
	f.Add(w.bytes, uint64(1), uint64(4))
	f.Add([]byte{}, uint64(1), uint64(0))
	f.Add(bytes.Repeat(frameMagic, 200), uint64(7), uint64(9))
	id, _ := parseID(w.id)
	f.Fuzz(func(t *testing.T, raw []byte, first, before uint64) {
		first = max(first, 1)
		if before > 0 {
			before = max(before, first)
		}
		size := int64(len(raw))
		s := scanner{c: &cursor{f: bytes.NewReader(raw), seed: id.seed()}, id: id, size: size, first: first, before: before}
		r := s.scan()
		if r.end < 0 || r.end > size || r.last+1 < first || before > 0 && r.last >= before {
			t.Fatalf("end %d of %d, records %d to %d before %d", r.end, size, first, r.last, before)
		}
		lost := first
		for _, h := range r.holes {
			if h.from < 0 || h.to < h.from || h.to > size || !h.proved {
				t.Fatalf("hole %+v in %d bytes", h, size)
			}
			if h.records() > 0 {
				if h.first < lost || h.last > r.last {
					t.Fatalf("hole %+v after %d, last %d", h, lost, r.last)
				}
				lost = h.last + 1
			}
		}
		for i := 1; i < len(r.index); i++ {
			if r.index[i].seq <= r.index[i-1].seq || r.index[i].off <= r.index[i-1].off {
				t.Fatalf("index %+v", r.index)
			}
		}
		if r.torn { // what is left once the end is cut off is sound by itself
			s.size = r.end
			if again := s.scan(); again.torn || again.last != r.last || again.end != r.end {
				t.Fatalf("cut off at %d: %+v, then %+v", r.end, r, again)
			}
		}
	})
}

// FuzzFrame: a frame of any body is read back as it was written, and not at all
// once a bit of it has changed.
func FuzzFrame(f *testing.F) {
	f.Add([]byte("payload"), "range", []byte("offset 17"), uint64(1), int64(1), uint16(3))
	f.Add([]byte{}, "", []byte{}, uint64(1)<<63, int64(-1), uint16(999))
	id := journalID{1, 2, 3}
	f.Fuzz(func(t *testing.T, payload []byte, feed string, data []byte, seq uint64, at int64, flip uint16) {
		raw := appendFrame(nil, id.seed(), kindEntry, seq, time.Unix(0, at), func(b []byte) []byte {
			return append(appendPositions(b, []Position{{feed, data}}), payload...)
		})
		read := func(seed uint32) (frame, int64, bool) {
			return (&cursor{f: bytes.NewReader(raw), seed: seed}).read(0, int64(len(raw)))
		}
		got, next, ok := read(id.seed())
		if !ok || next != int64(len(raw)) || got.seq != seq || got.at != at || got.kind != kindEntry {
			t.Fatalf("read %v %+v", ok, got)
		}
		rest, err := decodePositions(got.body, func(f, d []byte) {
			if string(f) != feed || !bytes.Equal(d, data) {
				t.Fatalf("position %q %q", f, d)
			}
		})
		if err != nil || !bytes.Equal(rest, payload) {
			t.Fatalf("payload %q, %v", rest, err)
		}
		if _, _, ok := read(journalID{1, 2, 4}.seed()); ok {
			t.Fatal("taken for a frame of another journal")
		}
		raw[int(flip/8)%len(raw)] ^= 1 << (flip % 8)
		if _, _, ok := read(id.seed()); ok {
			t.Fatal("a flipped bit was not seen")
		}
	})
}

// FuzzPositions: decoding stays within its bytes.
func FuzzPositions(f *testing.F) {
	f.Add(appendPositions(nil, []Position{{"a", []byte("b")}, {"", nil}}))
	f.Add([]byte{0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 1, 2})
	f.Fuzz(func(t *testing.T, raw []byte) {
		var ps []Position
		rest, err := decodePositions(raw, func(feed, data []byte) {
			ps = append(ps, Position{string(feed), data})
		})
		if err != nil {
			return
		}
		again, err := decodePositions(append(appendPositions(nil, ps), rest...), nil)
		if err != nil || !bytes.Equal(again, rest) {
			t.Fatalf("%q: %v", again, err)
		}
	})
}
