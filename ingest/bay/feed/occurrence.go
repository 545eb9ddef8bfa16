package feed

import (
	"crypto/sha256"
	"encoding/binary"
)

// occurrences answers how often a line stood in its file before, in bounded
// memory. A small file's lines are counted exactly. Past exactLines a Bloom
// filter says 'never seen' for certain, and for the rare line that may have
// been seen the file itself is counted again. Without recount (no file to go
// back to) all lines are counted exactly.
type occurrences struct {
	exact   map[uint64]uint32
	filter  []uint64
	repeats map[uint64]uint64 // counts of lines that were recounted
	recount func(line uint64) (uint64, error)
}

const (
	exactLines  = 8 << 10
	filterWords = 128 << 10 // 1 MiB: 1 in 10,000 wrongly suspected at 250,000 lines
	maxRepeats  = 8 << 10
)

func newOccurrences() *occurrences { return &occurrences{exact: map[uint64]uint32{}} }

// lineHash is the same on every machine, so that a re-read counts alike.
func lineHash(raw []byte) uint64 {
	sum := sha256.Sum256(raw)
	return binary.LittleEndian.Uint64(sum[:])
}

// next adds a line and returns its how-manieth occurrence, from 1.
func (o *occurrences) next(raw []byte) (uint64, error) {
	h := lineHash(raw)
	if o.filter == nil {
		o.addExact(h)
		if o.filter == nil {
			return uint64(o.exact[h]), nil
		}
		return o.repeats[h] + 1, nil // just now grown out of exact counting
	}
	if n, ok := o.repeats[h]; ok {
		o.repeats[h] = n + 1
		return n + 1, nil
	}
	if !o.mark(h) {
		return 1, nil
	}
	n, err := o.recount(h)
	if err != nil {
		return 0, err
	}
	if n > 0 {
		o.remember(h, n+1)
	}
	return n + 1, nil
}

// add is next for a line whose number is not asked for.
func (o *occurrences) add(raw []byte) {
	h := lineHash(raw)
	if o.filter == nil {
		o.addExact(h)
		return
	}
	if n, ok := o.repeats[h]; ok {
		o.repeats[h] = n + 1
	}
	o.mark(h)
}

func (o *occurrences) addExact(h uint64) {
	if _, have := o.exact[h]; have || len(o.exact) < exactLines || o.recount == nil {
		o.exact[h]++
		return
	}
	o.filter, o.repeats = make([]uint64, filterWords), map[uint64]uint64{}
	for line, n := range o.exact {
		o.mark(line)
		if n > 1 {
			o.remember(line, uint64(n))
		}
	}
	o.exact = nil
	o.mark(h)
}

// mark sets a line's four bits and says whether all were set already. The hash
// is uniform, so two halves of it give as many positions as are wanted.
func (o *occurrences) mark(h uint64) (seen bool) {
	seen = true
	a, b := h, h>>33|1
	for range 4 {
		bit := a % (filterWords * 64)
		word, mask := bit/64, uint64(1)<<(bit%64)
		seen = seen && o.filter[word]&mask != 0
		o.filter[word] |= mask
		a += b
	}
	return seen
}

// remember keeps a count, and forgets any other when there are too many: a
// forgotten one is recounted.
func (o *occurrences) remember(h, n uint64) {
	if len(o.repeats) >= maxRepeats {
		for other := range o.repeats {
			delete(o.repeats, other)
			break
		}
	}
	o.repeats[h] = n
}
