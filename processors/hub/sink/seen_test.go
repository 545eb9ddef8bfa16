package sink

import (
	"testing"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

func TestSeenHoldsWhatWasAdded(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		var s seen
		want := map[uint64]bool{}
		// Few low bits, so that many share a place.
		print := rapid.Custom(func(t *rapid.T) uint64 {
			return rapid.Uint64Range(0, 40).Draw(t, "high")<<50 | rapid.Uint64Range(0, 3).Draw(t, "low")
		})
		for range rapid.IntRange(0, 3000).Draw(t, "adds") {
			p := print.Draw(t, "print")
			s.add(p)
			want[p] = true
		}
		for high := range uint64(41) {
			for low := range uint64(4) {
				if p := high<<50 | low; s.has(p) != want[p] {
					t.Fatalf("%x: %v, want %v", p, s.has(p), want[p])
				}
			}
		}
		for _, p := range []uint64{5, 1 << 63, ^uint64(0)} {
			if s.has(p) {
				t.Fatalf("%x was never added", p)
			}
		}
	})
}
