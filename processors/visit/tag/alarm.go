package tag

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
)

// Alarm is a fault of the entries that no rule can mend: all survive, and
// someone has to look.
type Alarm struct {
	Journal string
	Seq     uint64
	Shots   []event.ShotID // in order, two or more
}

// String says what is wrong and what to try.
func (a Alarm) String() string {
	names := make([]string, len(a.Shots))
	for i, id := range a.Shots {
		names[i] = id.String()
	}
	return fmt.Sprintf("journal %s: number %d is claimed by the shots %s; all are kept. Was the disk copied or restored? Let only one "+
		"collector write this journal",
		a.Journal, a.Seq, strings.Join(names, ", "))
}

// claim is a number of a journal, which one shot only may have.
type claim struct {
	journal string
	seq     uint64
}

// claims are the numbers seen and which shots claim them.
type claims struct {
	first    map[string]*numbers      // by journal
	disputed map[claim][]event.ShotID // all claimants, in order; two or more
}

func newClaims() claims {
	return claims{map[string]*numbers{}, map[claim][]event.ShotID{}}
}

// numbers are which shot had a number of one journal first. A journal counts
// densely from 1, so those that come one after the other stand in a row.
type numbers struct {
	from   uint64 // number of the first in the row
	row    []event.ShotID
	others map[uint64]event.ShotID
}

// of is the shot that a number belongs to; ok is false when nobody had it.
func (n *numbers) of(seq uint64) (id event.ShotID, ok bool) {
	if i := seq - n.from; i < uint64(len(n.row)) && n.row[i] != (event.ShotID{}) {
		return n.row[i], true
	}
	id, ok = n.others[seq]
	return id, ok
}

// put gives a number that nobody had to a shot.
func (n *numbers) put(seq uint64, id event.ShotID) {
	if len(n.row) == 0 {
		n.from = seq
	}
	switch i := seq - n.from; {
	case id == (event.ShotID{}) || i > uint64(len(n.row)): // in a row it would say that nobody has it
		if n.others == nil {
			n.others = map[uint64]event.ShotID{}
		}
		n.others[seq] = id
	case i == uint64(len(n.row)):
		n.row = append(n.row, id)
	default:
		n.row[i] = id
	}
}

func (n *numbers) forget(seq uint64) {
	delete(n.others, seq)
	if i := seq - n.from; i < uint64(len(n.row)) {
		n.row[i] = event.ShotID{}
	}
	for len(n.row) > 0 && n.row[0] == (event.ShotID{}) {
		n.row = n.row[1:]
		n.from++
	}
}

func (cs claims) add(f *Fact) {
	n := cs.first[f.Journal]
	if n == nil {
		n = &numbers{}
		cs.first[f.Journal] = n
	}
	first, known := n.of(f.Seq)
	if !known {
		n.put(f.Seq, f.ID)
		return
	}
	if first == f.ID {
		return
	}
	c := claim{f.Journal, f.Seq}
	ids := cs.disputed[c]
	if ids == nil {
		ids = []event.ShotID{first}
	}
	if at, taken := slices.BinarySearchFunc(ids, f.ID, compareIDs); !taken {
		ids = slices.Insert(ids, at, f.ID)
	}
	cs.disputed[c] = ids
}

// forget drops the number of an entry unless it is disputed.
func (cs claims) forget(f *Fact) {
	if c := (claim{f.Journal, f.Seq}); cs.disputed[c] == nil {
		if n := cs.first[f.Journal]; n != nil {
			n.forget(f.Seq)
		}
	}
}

func (cs claims) alarms() []Alarm {
	var found []Alarm
	for c, ids := range cs.disputed {
		found = append(found, Alarm{c.journal, c.seq, slices.Clone(ids)})
	}
	slices.SortFunc(found, func(x, y Alarm) int {
		return cmp.Or(strings.Compare(x.Journal, y.Journal), cmp.Compare(x.Seq, y.Seq))
	})
	return found
}

// Alarms lists the numbers that several shots claim among the entries that
// were held at the same time. Over the whole store, count the shots by number.
func (b *Bay) Alarms() []Alarm { return b.claims.alarms() }
