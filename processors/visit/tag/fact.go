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
	Received  int64  // bay's wall clock
	Effective int64  // frozen effective time
	Unsure    bool   // the effective time was never set against the hub
	Device    string
	Role      event.Role
}

// Noted is a fact with the caller's own note of the entry, which a Bay keeps as
// long as it holds the entry and gives back with each of its tags.
type Noted struct {
	Fact
	Note any
}

// FactOf takes from an entry what tagging needs of it.
func FactOf(e *event.Entry) Fact {
	return Fact{
		Key:     Key{Journal: e.Journal, Seq: e.Seq, ID: e.ID()},
		Content: e.Content(), Revision: e.Revision, Deleted: e.Deleted, Valid: e.Valid(),
		Received: e.ReceivedUnixNs, Effective: e.EffectiveUnixNs, Unsure: e.Certainty == event.Certainty_CERTAINTY_UNSURE,
		Device: e.Device, Role: e.Role,
	}
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
		flag(a.Unsure, b.Unsure), strings.Compare(a.Device, b.Device), cmp.Compare(a.Role, b.Role),
	)
}
