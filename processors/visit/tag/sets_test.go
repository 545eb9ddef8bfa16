package tag

import (
	"math"
	"slices"
	"testing"

	"fairlead/deploy/proof"
	"pgregory.net/rapid"
)

// Sets of instants do what sets do: each of a few steps is held against the
// instants themselves, one by one.
func TestSpansAreSets(t *testing.T) {
	const last = 12
	proof.Check(t, func(t *rapid.T) {
		var s spans
		held := [last + 3]bool{}
		for range rapid.IntRange(1, 6).Draw(t, "steps") {
			from, to := rapid.Int64Range(0, last).Draw(t, "from"), rapid.Int64Range(0, last).Draw(t, "to")
			if rapid.Bool().Draw(t, "add") {
				s.add(from, to)
				for i := from; i <= to; i++ {
					held[i] = true
				}
			} else {
				s.cut(from, to)
				for i := from; i < to; i++ {
					held[i] = false
				}
			}
			var want spans
			for i := range held {
				switch {
				case held[i] && (i == 0 || !held[i-1]):
					want = append(want, span{int64(i), int64(i)})
				case held[i]:
					want[len(want)-1].to = int64(i)
				}
			}
			if !slices.Equal(s, want) {
				t.Fatalf("%v, want %v", s, want)
			}
			for from := range int64(last + 2) {
				all, some := true, false
				for to := from; to < last+2; to++ {
					all, some = all && held[to], some || held[to]
					if s.touches(from, to) != some {
						t.Fatalf("%v touches [%d, %d]: %v", s, from, to, !some)
					}
					if s.covers(from, to) != all {
						t.Fatalf("%v covers [%d, %d]: %v", s, from, to, !all)
					}
				}
			}
			if !s.covers(5, 4) {
				t.Fatal("no instant is not in the set")
			}
		}
	})
}

func TestEndsOfTimeStayWhereTheyAre(t *testing.T) {
	var s spans
	s.add(math.MinInt64, 3)
	s.add(4, math.MaxInt64)
	if !slices.Equal(s, spans{{math.MinInt64, math.MaxInt64}}) {
		t.Errorf("all time: %v", s)
	}
	for _, c := range []struct{ at, by, less, more int64 }{
		{0, 5, -5, 5}, {math.MinInt64 + 5, 5, math.MinInt64, math.MinInt64 + 10}, {math.MinInt64 + 4, 5, math.MinInt64, math.MinInt64 + 9},
		{math.MinInt64 + 6, 5, math.MinInt64 + 1, math.MinInt64 + 11}, {math.MaxInt64 - 5, 5, math.MaxInt64 - 10, math.MaxInt64},
		{math.MaxInt64 - 4, 5, math.MaxInt64 - 9, math.MaxInt64}, {math.MaxInt64 - 6, 5, math.MaxInt64 - 11, math.MaxInt64 - 1},
	} {
		if l, m := less(c.at, c.by), more(c.at, c.by); l != c.less || m != c.more {
			t.Errorf("%d by %d: %d and %d, want %d and %d", c.at, c.by, l, m, c.less, c.more)
		}
	}
	if from(0) != math.MinInt64 || from(1) != 1 || from(-1) != -1 {
		t.Error("an earliest time that is not known is the beginning of all")
	}
}

// Of a hit that two devices saw the times that hold for both count, where there are
// such; a known one stays as it is.
func TestTimeOfAHitThatTwoSaw(t *testing.T) {
	for _, c := range []struct{ a, b, want when }{
		{when{1, 9, 5}, when{3, 7, 4}, when{3, 7, 5}},
		{when{3, 7, 5}, when{1, 9, 5}, when{3, 7, 5}},
		{when{1, 9, 2}, when{4, 12, 6}, when{4, 9, 4}},
		{when{4, 12, 11}, when{1, 9, 2}, when{4, 9, 9}},
		{when{1, 5, 3}, when{5, 9, 7}, when{5, 5, 5}}, // one instant is a time
		{when{1, 4, 3}, when{5, 9, 7}, when{1, 4, 3}}, // none is not
		{exactly(3), when{1, 9, 8}, exactly(3)},
		{exactly(3), when{5, 9, 8}, exactly(3)},
		{when{1, 9, 8}, exactly(3), exactly(3)},
	} {
		if got := c.a.both(c.b); got != c.want {
			t.Errorf("%v and %v: %v, want %v", c.a, c.b, got, c.want)
		}
	}
}
