package feed

import (
	"crypto/sha256"
	"encoding/binary"
)

// occurrences counts how often each line stood in its file. A line is known by
// its hash, of which a table keeps half, beside a small count; the other half
// says where in the table it lies. When a table is full, one twice as large
// goes on, so that no line is ever moved and a line costs the same however long
// the file is: 7 to 14 bytes, and no second reading. Two different lines are
// taken for equal once in some 100 million lines; the later one then has the
// identity of a second occurrence, at every reading the same.
type occurrences struct {
	tables []prints
	many   map[uint64]uint64 // counts too large for a table, by hash
}

// firstPrints is the size of the first table, a power of two.
const firstPrints = 1 << 10

func newOccurrences() *occurrences {
	return &occurrences{tables: []prints{newPrints(firstPrints)}}
}

// lineHash is the same on every machine, so that a re-read counts alike.
func lineHash(raw []byte) uint64 {
	sum := sha256.Sum256(raw)
	return binary.LittleEndian.Uint64(sum[:])
}

// next adds a line and returns its how-manieth occurrence, from 1.
func (o *occurrences) next(raw []byte) uint64 {
	h := lineHash(raw)
	for i := range o.tables {
		if at, ok := o.tables[i].find(h); ok {
			return o.again(&o.tables[i].counts[at], h)
		}
	}
	last := &o.tables[len(o.tables)-1]
	if 4*last.used >= 3*len(last.slots) {
		o.tables = append(o.tables, newPrints(2*len(last.slots)))
		last = &o.tables[len(o.tables)-1]
	}
	last.put(h)
	return 1
}

// again counts a line that was seen, from 2.
func (o *occurrences) again(count *uint8, h uint64) uint64 {
	const most = 1<<8 - 1
	if *count < most {
		*count++
		return uint64(*count)
	}
	if o.many == nil {
		o.many = map[uint64]uint64{}
	}
	n := max(o.many[h], most) + 1
	o.many[h] = n
	return n
}

// prints is a table of hashes and their counts.
type prints struct {
	slots  []uint32 // 0: free
	counts []uint8
	used   int
}

func newPrints(slots int) prints {
	return prints{slots: make([]uint32, slots), counts: make([]uint8, slots)}
}

// find returns a hash's place; without one, the free place it would take.
func (p *prints) find(h uint64) (at int, ok bool) {
	print := max(1, uint32(h))
	for at = int(h>>32) & (len(p.slots) - 1); p.slots[at] != 0; at = (at + 1) & (len(p.slots) - 1) {
		if p.slots[at] == print {
			return at, true
		}
	}
	return at, false
}

func (p *prints) put(h uint64) {
	at, _ := p.find(h)
	p.slots[at], p.counts[at] = max(1, uint32(h)), 1
	p.used++
}
