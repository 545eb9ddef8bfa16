package gap

import (
	"testing"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

// The model is a plain set.
func TestRangesEqualASet(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		var r Ranges
		model := map[uint64]bool{}
		for range rapid.IntRange(0, 20).Draw(t, "adds") {
			from := rapid.Uint64Range(1, 60).Draw(t, "from")
			to := from + rapid.Uint64Range(0, 6).Draw(t, "length")
			r.Add(from, to)
			for s := from; s <= to; s++ {
				model[s] = true
			}
		}
		for range rapid.IntRange(0, 4).Draw(t, "removals") {
			from := rapid.Uint64Range(1, 60).Draw(t, "from")
			to := from + rapid.Uint64Range(0, 6).Draw(t, "length")
			r.Remove(from, to)
			for s := from; s <= to; s++ {
				delete(model, s)
			}
		}
		if int(r.Count()) != len(model) {
			t.Fatalf("%v counts %d, want %d", r, r.Count(), len(model))
		}
		for i := 1; i < len(r); i++ {
			if r[i].From <= r[i-1].To+1 {
				t.Fatalf("%v: ranges touch or are out of order", r)
			}
		}
		from := rapid.Uint64Range(1, 70).Draw(t, "from")
		to := from + rapid.Uint64Range(0, 70).Draw(t, "length")
		missing := r.Missing(from, to)
		below := from
		for model[below] {
			below++
		}
		if r.Below(from) != below {
			t.Fatalf("%v below %d: %d, want %d", r, from, r.Below(from), below)
		}
		for s := uint64(0); s <= 140; s++ {
			if r.Has(s) != model[s] {
				t.Fatalf("%v has %d: %v", r, s, r.Has(s))
			}
			if want := s >= from && s <= to && !model[s]; missing.Has(s) != want {
				t.Fatalf("%v missing of %d to %d: %v", r, from, to, missing)
			}
		}
	})
}
