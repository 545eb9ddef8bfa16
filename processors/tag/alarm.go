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

func addClaim(claims map[claim][]event.ShotID, f Fact) {
	c := claim{f.Journal, f.Seq}
	if at, taken := slices.BinarySearchFunc(claims[c], f.ID, compareIDs); !taken {
		claims[c] = slices.Insert(claims[c], at, f.ID)
	}
}

func alarmsIn(claims map[claim][]event.ShotID) []Alarm {
	var found []Alarm
	for c, ids := range claims {
		if len(ids) > 1 {
			found = append(found, Alarm{c.journal, c.seq, slices.Clone(ids)})
		}
	}
	slices.SortFunc(found, func(x, y Alarm) int {
		return cmp.Or(strings.Compare(x.Journal, y.Journal), cmp.Compare(x.Seq, y.Seq))
	})
	return found
}

// Alarms lists, in order, the numbers of journals that several shots claim.
func Alarms(facts []Fact) []Alarm {
	claims := map[claim][]event.ShotID{}
	for _, f := range facts {
		addClaim(claims, f)
	}
	return alarmsIn(claims)
}

// Alarms lists the numbers that several shots claim among the entries that
// were held at the same time. Over the whole store, count the shots by number.
func (b *Bay) Alarms() []Alarm { return alarmsIn(b.claims) }
