package tag

import (
	"cmp"
	"math"
	"time"

	"fairlead/processors/visit"
)

// cell is the length of the pieces into which a gap between sessions is cut,
// so that a bay where nobody ever opens a session stays cheap.
const cell = int64(time.Hour)

// stretch is a piece of a bay's time in which shots bear on one another: a
// session with those that took turns with it, or up to an hour between two. It is
// comparable within one timeline.
type stretch struct {
	from, to int64 // [from, to)
	stay     *visit.Stay
}

func (s stretch) holds(at int64) bool { return s.from <= at && at < s.to }

// stretchAt finds the stretch that holds at an instant.
func stretchAt(tl *visit.Timeline, at int64) stretch {
	s, from, to := tl.Around(at)
	if s != nil {
		return stretch{from, to, s}
	}
	begin := at - ((at%cell)+cell)%cell
	if begin > at { // before the first nanosecond that an hour can begin
		begin = math.MinInt64
	}
	end := int64(math.MaxInt64)
	if begin <= math.MaxInt64-cell {
		end = begin + cell
	}
	return stretch{max(from, begin), min(to, end), nil}
}

// finder finds stretches; instants that follow one another mostly lie in one.
type finder struct {
	tl   *visit.Timeline
	last stretch
}

func (f *finder) at(instant int64) stretch {
	if !f.last.holds(instant) {
		f.last = stretchAt(f.tl, instant)
	}
	return f.last
}

// earlier orders stretches by time.
func earlier(a, b stretch) int { return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to)) }

func stretchOf(s *visit.Stay) stretch { return stretch{s.From, s.To, s} }

// placed is when an entry itself counts as hit, apart from its shot's others.
func placed(tl *visit.Timeline, f *Fact) int64 { return timeOf(tl, f).at }
