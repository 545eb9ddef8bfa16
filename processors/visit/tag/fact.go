package tag

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"

	"fairlead/ingest/contract/event"
)

// Key names an entry of a bay: its row in the store.
type Key struct {
	Journal string
	Seq     uint64
	ID      event.ShotID
}

// String writes the key for people and logs.
func (k Key) String() string { return fmt.Sprintf("%s/%d/%s", k.Journal, k.Seq, k.ID) }

func (k Key) compare(o Key) int {
	if c := strings.Compare(k.Journal, o.Journal); c != 0 {
		return c
	}
	if c := cmp.Compare(k.Seq, o.Seq); c != 0 {
		return c
	}
	return compareIDs(k.ID, o.ID)
}

func compareIDs(a, b event.ShotID) int { return bytes.Compare(a[:], b[:]) }

// Fact is what tagging needs to know of an entry. It is comparable.
type Fact struct {
	Key
	Content   uint64 // hash of the raw line (event.Entry.Content)
	Revision  uint32 // number of the device, 0 when it numbers none
	Deleted   bool   // the device withdrew the shot with this line
	Valid     bool   // the line was a shot
	Reread    int64  // when the line was read again with a corrected map; 0: as it came
	Received  int64  // bay's wall clock
	Effective int64  // frozen effective time
	Unsure    bool   // the effective time was never set against the hub
	// Between which times it was hit, both included, where that is not known
	// exactly; 0 both: at Effective. Earliest alone 0: not known from when.
	Earliest, Latest int64
	// Wide: that may be more than Narrow apart from Effective.
	Wide bool
	// For unsure times: the boot of the bay's machine in which it was read, and
	// the time since that at the reading and when it was not there yet (0: not
	// known). Empty in entries of before that was kept.
	Boot       string
	Read, Seen int64
	Device     string
	Role       event.Role
}

// Noted is a fact with the caller's own note of the entry, which a Bay keeps as
// long as it holds the entry and gives back with each of its tags.
type Noted struct {
	Fact
	Note any
}

// FactOf takes from an entry what tagging needs of it.
func FactOf(e *event.Entry) Fact {
	f := Fact{
		Key:     Key{Journal: e.Journal, Seq: e.Seq, ID: e.ID()},
		Content: e.Content(), Revision: e.Revision, Deleted: e.Deleted, Valid: e.Valid(), Reread: e.RereadUnixNs,
		Received: e.ReceivedUnixNs, Effective: e.EffectiveUnixNs, Unsure: e.Certainty == event.Certainty_CERTAINTY_UNSURE,
		Device: e.Device, Role: e.Role,
		Earliest: e.EarliestUnixNs, Latest: e.LatestUnixNs, Wide: e.Certainty == event.Certainty_CERTAINTY_BETWEEN,
	}
	switch {
	case f.Unsure && e.Boot != "":
		f.Wide, f.Boot, f.Read, f.Seen = true, e.Boot, e.ReadMonoNs, e.SeenMonoNs
	case f.Wide:
		f.Latest = max(f.Latest, f.Effective)
	case f.Latest != 0:
		f.Earliest = min(max(f.Earliest, f.Effective-Narrow), f.Effective)
		f.Latest = max(min(f.Latest, f.Effective+Narrow), f.Effective)
	}
	return f
}

// firstSeen orders the entries of one shot by when they were first seen.
func firstSeen(a, b Fact) int {
	if c := cmp.Compare(a.Received, b.Received); c != 0 {
		return c
	}
	return a.Key.compare(b.Key)
}

// preferred orders different facts that claim one key, which only a fault can
// bring about: the first counts.
func preferred(a, b Fact) int {
	flag := func(x, y bool) int {
		switch {
		case x == y:
			return 0
		case x:
			return 1
		}
		return -1
	}
	return cmp.Or(
		firstSeen(a, b), cmp.Compare(a.Effective, b.Effective), cmp.Compare(a.Content, b.Content),
		cmp.Compare(a.Revision, b.Revision), flag(a.Deleted, b.Deleted), flag(a.Valid, b.Valid),
		flag(a.Unsure, b.Unsure), flag(a.Wide, b.Wide), cmp.Compare(a.Earliest, b.Earliest), cmp.Compare(a.Latest, b.Latest),
		strings.Compare(a.Boot, b.Boot), cmp.Compare(a.Read, b.Read), cmp.Compare(a.Seen, b.Seen), strings.Compare(a.Device, b.Device),
		cmp.Compare(a.Role, b.Role),
		cmp.Compare(b.Reread, a.Reread),
	)
}
