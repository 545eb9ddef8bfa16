package visit

import (
	"cmp"
	"slices"
	"time"

	"fairlead/ingest/contract/event"
)

// What brings a player back, and after how long.
const (
	DueCheck = "hit check"      // a delivered club was not hit and held against its promise
	DueMonth = "thirty days"    // and again after a month of play
	DueYear  = "a year"         // since the last visit
	DueLofts = "lofts to gauge" // soft heads bend, shafts and grips age
	month    = 30 * 24 * time.Hour
	year     = 365 * 24 * time.Hour
	// soonAfter is how much earlier than thirty days a check counts as the one after
	// a month: players come when they can.
	soonAfter = 20 * 24 * time.Hour
)

// Due is one reason to ask a player back.
type Due struct {
	What    string
	At      int64  // when it is due, Unix ns
	Of      string // which clubs, in words
	Verdict string // whose promise is to be checked; empty: none
	Order   string // its order's number; empty: none
}

// Due lists what brings the player back, soonest first, whether it is due by now
// or later.
func (f *File) Due(checks *Checks) (out []Due) {
	last := f.Last()
	if last == nil {
		return nil
	}
	for _, o := range f.Orders() {
		handed := o.handed()
		if handed == 0 {
			continue
		}
		of, verdict := "", o.Placed.Given.GetVerdict()
		for i, c := range o.Placed.Given.GetClubs() {
			if i > 0 {
				of += " "
			}
			of += c.GetName()
		}
		first, again := false, false
		for _, ev := range checks.Live(verdict) {
			first = true
			again = again || ev.EffectiveUnixNs >= handed+int64(soonAfter)
		}
		if !first {
			out = append(out, Due{DueCheck, handed, of, verdict, o.Number()})
		}
		if !again {
			out = append(out, Due{DueMonth, handed + int64(month), of, verdict, o.Number()})
		}
	}
	at := last.From
	if !last.Open() {
		at = last.To
	}
	out = append(out, Due{What: DueYear, At: at + int64(year)})
	if d, ok := f.lofts(); ok {
		out = append(out, d)
	}
	slices.SortStableFunc(out, func(a, b Due) int { return cmp.Compare(a.At, b.At) })
	return out
}

// lofts is when the bag's irons and wedges should be gauged again: a year after
// the one that was gauged longest ago, or came into the bag.
func (f *File) lofts() (d Due, ok bool) {
	oldest := int64(0)
	for _, o := range f.Owned() {
		if o.Category != "iron" && o.Category != "wedge" {
			continue
		}
		at := int64(0)
		for _, p := range o.Past {
			if p.Field == event.BuildField_BUILD_LOFT && (p.Measured || at == 0) {
				at = p.At
			}
		}
		if at == 0 {
			at = o.At
		}
		if oldest == 0 || at < oldest {
			oldest, d.Of = at, o.Name
		} else if at == oldest {
			d.Of += " " + o.Name
		}
	}
	d.What, d.At = DueLofts, oldest+int64(year)
	return d, oldest != 0
}
