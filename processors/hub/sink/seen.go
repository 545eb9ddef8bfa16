package sink

// seen is a set of fingerprints. They are bits of a hash already, so the place
// of one is found without hashing it again.
type seen struct {
	slots []uint64 // a power of two of them, at most half of them taken; 0: free
	n     int
	zero  bool // 0 is in the set
}

// slot is where a fingerprint stands, or would.
func (s *seen) slot(p uint64) *uint64 {
	last := uint64(len(s.slots) - 1)
	for i := p & last; ; i = (i + 1) & last {
		if s.slots[i] == p || s.slots[i] == 0 {
			return &s.slots[i]
		}
	}
}

func (s *seen) add(p uint64) {
	if p == 0 {
		s.zero = true
		return
	}
	if 2*s.n >= len(s.slots) {
		old := s.slots
		s.slots = make([]uint64, max(1024, 2*len(old)))
		for _, q := range old {
			if q != 0 {
				*s.slot(q) = q
			}
		}
	}
	if at := s.slot(p); *at == 0 {
		*at = p
		s.n++
	}
}

func (s *seen) has(p uint64) bool {
	if p == 0 || len(s.slots) == 0 {
		return p == 0 && s.zero
	}
	return *s.slot(p) == p
}
