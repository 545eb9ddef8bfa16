package tag

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"fairlead/ingest/event"
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
	return fmt.Sprintf("journal %s: number %d is claimed by the shots %s; all are kept. Was the disk copied or restored? Let only one collector write this journal",
		a.Journal, a.Seq, strings.Join(names, ", "))
}

// claim is a number of a journal, which one shot only may have.
type claim struct {
	journal string
	seq     uint64
}

// claims are the numbers seen and which shots claim them.
type claims struct {
	first    map[claim]event.ShotID
	disputed map[claim][]event.ShotID // all claimants, in order; two or more
}

func newClaims() claims {
	return claims{map[claim]event.ShotID{}, map[claim][]event.ShotID{}}
}

func (cs claims) add(f *Fact) {
	c := claim{f.Journal, f.Seq}
	first, known := cs.first[c]
	if !known {
		cs.first[c] = f.ID
		return
	}
	if first == f.ID {
		return
	}
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
		delete(cs.first, c)
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

// Alarms lists, in order, the numbers of journals that several shots claim.
func Alarms(facts []Fact) []Alarm {
	seen := newClaims()
	for i := range facts {
		seen.add(&facts[i])
	}
	return seen.alarms()
}

// Alarms lists the numbers that several shots claim among the entries that
// were held at the same time. Over the whole store, count the shots by number.
func (b *Bay) Alarms() []Alarm { return b.claims.alarms() }
