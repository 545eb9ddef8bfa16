package tag

import (
	"cmp"
	"slices"

	"fairlead/ingest/event"
)

// shot is all that was read of one shot id, resolved: which entry stands for
// the hit and which are repeats or other versions of it.
type shot struct {
	id    event.ShotID
	facts []Fact // as first seen
	best  int    // index of the entry that counts, -1: no valid line
}

// newShot resolves the entries of one id.
//
// Lines that were no valid shot stand aside: a broken revision must not take a
// good shot away. Of the rest the contents compete, and the one with the
// highest (revision, time first seen) counts: a device that revises a shot
// writes another line later. Within a content the entry seen first counts, so
// a file that is read again changes nothing.
func newShot(id event.ShotID, facts []Fact) *shot {
	s := &shot{id: id, facts: facts, best: -1}
	slices.SortFunc(s.facts, firstSeen)
	if len(facts) == 1 {
		if facts[0].Valid {
			s.best = 0
		}
		return s
	}
	type version struct {
		first    int
		revision uint32
	}
	contents := map[uint64]*version{}
	for i, f := range s.facts {
		if !f.Valid {
			continue
		}
		v := contents[f.Content]
		if v == nil {
			v = &version{first: i}
			contents[f.Content] = v
		}
		v.revision = max(v.revision, f.Revision)
	}
	var best *version
	for _, v := range contents {
		if best == nil || cmp.Or(cmp.Compare(v.revision, best.revision), cmp.Compare(v.first, best.first)) > 0 {
			best = v
		}
	}
	if best != nil {
		s.best = best.first
	}
	return s
}

// first is the entry that was seen first, valid or not: it tells when the shot
// was hit, however late the version that counts was written.
func (s *shot) first() Fact { return s.facts[0] }

// hit returns the entry that stands for the hit; ok is false where there is
// none: every line was refused, or the device withdrew the shot.
func (s *shot) hit() (f Fact, ok bool) {
	if s.best < 0 || s.facts[s.best].Deleted {
		return Fact{}, false
	}
	return s.facts[s.best], true
}

// status of the entry at index i, where it does not stand for the hit.
func (s *shot) status(i int) Status {
	switch f := s.facts[i]; {
	case !f.Valid:
		return Rejected
	case i == s.best:
		return Deleted
	case f.Content == s.facts[s.best].Content:
		return Repeat
	}
	return Superseded
}
