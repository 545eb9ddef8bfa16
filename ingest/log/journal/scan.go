package journal

// hole is a stretch of a segment in which nothing could be read.
type hole struct {
	from, to int64
	// The records that were in it: lost.first to lost.last, none when first > last.
	first, last uint64
	// proved: the stretch had been durable, so this is damage. Otherwise it may
	// be a write that a crash cut short, which nobody was told had succeeded.
	proved bool
}

func (h hole) records() uint64 {
	if h.first > h.last {
		return 0
	}
	return h.last - h.first + 1
}

// scanResult is what one segment file holds.
type scanResult struct {
	header    *segmentHeader // nil: damaged or never written
	holes     []hole
	last      uint64 // highest seq stored or known to be lost; first-1 when there is none
	end       int64  // where the next frame goes
	lastAt    int64  // wall time of the last entry, ns; 0: no entry
	index     []indexPoint
	positions map[string][]byte // the last of each feed
	torn      bool              // bytes after end were begun and never finished
	blank     bool              // nothing was ever written, or nothing of it arrived
}

// indexPoint says where an entry begins. One is kept every indexBytes.
type indexPoint struct {
	seq uint64
	off int64
}

const indexBytes = 64 << 10

// scanner walks a segment from its beginning and tells damage from a torn end.
//
// A group of frames is written, synced and only then followed by a mark. So
// whatever lies before an intact mark had been durable, and a hole there is
// damage; a hole with no mark after it lies in the last group, which a crash
// cut short before anyone got an answer. The rest of that group is dropped with
// it, also where later parts of it reached the disk before earlier ones.
type scanner struct {
	c     *cursor
	id    journalID
	size  int64
	first uint64 // first seq the file may hold
	// before is what a later file of the same journal begins with; 0: this is
	// the last file. All of a file that has a later one had been durable.
	before uint64
}

func (s scanner) scan() scanResult {
	r := s.pass(s.size)
	for _, h := range r.holes {
		if !h.proved { // what lies before it, once more and by itself
			blank := r.blank
			r = s.pass(h.from)
			r.torn, r.blank = true, blank
			break
		}
	}
	return r
}

func (s scanner) pass(limit int64) scanResult {
	r := scanResult{last: s.first - 1, end: min(preambleLen, limit), positions: map[string][]byte{}, blank: true}
	sealed := s.before > 0
	if p := s.c.window(0, preambleLen, limit); !s.isPreamble(p) && limit > 0 {
		r.holes = append(r.holes, hole{from: 0, to: int64(len(p)), first: 1, proved: sealed})
		r.blank = s.c.zeros(0, int64(len(p)))
	}
	for off := r.end; off < limit; {
		f, next, ok := s.c.read(off, limit)
		if !ok {
			if s.c.zeros(off, limit) || sealed && r.last+1 >= s.before {
				break // room reserved and not used, or what a failed sync left
			}
			r.blank = false
			at, found := s.c.resync(off, limit)
			h := hole{from: off, to: at, first: 1, proved: sealed}
			if !found {
				r.holes = append(r.holes, h)
				r.end = at
				break
			}
			f, next, _ = s.c.read(at, limit)
			s.lose(&r, &h, f.lastBefore())
			r.holes = append(r.holes, h)
			off = at
		}
		r.blank = false
		s.take(&r, f, off)
		off, r.end = next, next
	}
	if sealed && r.last+1 < s.before { // the file lost its end
		h := hole{from: r.end, to: r.end, first: 1, proved: true}
		if n := len(r.holes); n > 0 && r.holes[n-1].to == r.end && r.holes[n-1].records() == 0 {
			h, r.holes = r.holes[n-1], r.holes[:n-1]
		}
		s.lose(&r, &h, s.before-1)
		r.holes = append(r.holes, h)
	}
	return r
}

// lose notes in the hole that the records up to last went with it.
func (s scanner) lose(r *scanResult, h *hole, last uint64) {
	if s.before > 0 {
		last = min(last, s.before-1)
	}
	if last > r.last {
		h.first, h.last = r.last+1, last
		r.last = last
	}
}

func (s scanner) isPreamble(p []byte) bool {
	return len(p) == preambleLen && [8]byte(p[:8]) == preambleMagic && journalID(p[8:]) == s.id
}

// take adds one intact frame to the result.
func (s scanner) take(r *scanResult, f frame, off int64) {
	gap := hole{from: off, to: off, first: 1} // records gone without a trace
	switch f.kind {
	case kindHeader:
		if h, err := decodeHeader(f.body); err == nil && r.header == nil {
			r.header = h
		}
	case kindMark:
		if s.lose(r, &gap, f.seq); gap.records() > 0 {
			r.holes = append(r.holes, gap)
		}
		for i := range r.holes {
			r.holes[i].proved = true
		}
	case kindPositions:
		if s.before == 0 || f.seq <= s.before {
			notePositions(r.positions, f.body)
		}
	case kindEntry:
		if f.seq <= r.last || s.before > 0 && f.seq >= s.before {
			return // written again elsewhere after a failed sync; never acknowledged here
		}
		if s.lose(r, &gap, f.seq-1); gap.records() > 0 {
			r.holes = append(r.holes, gap)
		}
		r.last, r.lastAt = f.seq, f.at
		if n := len(r.index); n == 0 || off-r.index[n-1].off >= indexBytes {
			r.index = append(r.index, indexPoint{f.seq, off})
		}
		notePositions(r.positions, f.body)
	}
}

// lastBefore is the last seq that was given out before the frame was written.
func (f frame) lastBefore() uint64 {
	if f.kind == kindMark {
		return f.seq
	}
	return max(f.seq, 1) - 1
}

func notePositions(into map[string][]byte, body []byte) {
	_, _ = decodePositions(body, func(feed, data []byte) {
		into[string(feed)] = append([]byte{}, data...)
	})
}
