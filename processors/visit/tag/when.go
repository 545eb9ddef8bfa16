package tag

import (
	"math"
	"time"

	"fairlead/processors/visit"
)

const (
	// Narrow is how far a time may reach to either side of an effective time that
	// is not Wide.
	Narrow = int64(10 * time.Second)
	// atOnce is how short before its reading a line has to have been missing to be
	// taken as read at once, where that could only be told later.
	atOnce = int64(150 * time.Millisecond)
)

// when is between which instants an entry was hit, both included, and the best
// guess. Where they are one, the time is taken as known.
type when struct{ lo, hi, at int64 }

func exactly(at int64) when { return when{at, at, at} }

func (w when) known() bool { return w.lo == w.hi }

// timeOf says when an entry itself was hit, apart from its shot's others.
func timeOf(tl *visit.Timeline, f *Fact) when {
	switch {
	case f.Unsure && f.Boot == "":
		return exactly(tl.Place(f.Journal, f.Seq, f.Effective))
	case f.Unsure:
		return unmet(tl, f)
	case f.Latest == 0 && !f.Wide:
		return exactly(f.Effective)
	}
	w := when{from(f.Earliest), f.Latest, f.Effective}
	if f.Wide {
		w = w.seen(tl, f)
	}
	return w
}

// unmet is the time of an entry that was taken before the bay's first contact
// with the hub in a boot. Once that came, the steady clock of the bay tells.
func unmet(tl *visit.Timeline, f *Fact) when {
	w := exactly(f.Effective) // until the console has noted the contact
	if m, ok := tl.Met(f.Boot); ok {
		w.lo = from(f.Earliest)
		w.at = f.Read + m.Ahead
		if f.Seen > 0 && f.Read-f.Seen <= atOnce {
			return exactly(w.at)
		}
		w.hi = w.at + m.Error
		if f.Seen > 0 {
			w.lo = max(w.lo, f.Seen+m.Ahead-m.Error)
		}
		return w.seen(tl, f)
	}
	return w
}

func from(earliest int64) int64 {
	if earliest == 0 {
		return math.MinInt64
	}
	return earliest
}

// seen narrows a time by what was on the fitter's screen: an entry that was
// seen when an event was recorded was hit before. (What was read is seen after
// that, so times that end with the reading gain nothing.)
func (w when) seen(tl *visit.Timeline, f *Fact) when {
	if before, ok := tl.SeenBy(f.Journal, f.Seq); ok && before-1 < w.hi {
		w.hi = max(before-1, w.lo)
	}
	w.at = min(max(w.at, w.lo), w.hi)
	return w
}

// both is the time of a hit that two devices saw: what holds for both views,
// where there is such a time.
func (w when) both(o when) when {
	lo, hi := max(w.lo, o.lo), min(w.hi, o.hi)
	if w.known() || lo > hi {
		return w
	}
	return when{lo, hi, min(max(w.at, lo), hi)}
}

// roving says whether where an entry belongs can't be told from its effective
// time, not even nearly: a Bay always holds such entries.
func (f *Fact) roving() bool { return f.Unsure || f.Wide }
