package tag

import (
	"cmp"
	"slices"

	"fairlead/ingest/contract/event"
)

// shot is all that was read of one shot id, resolved: which entry stands for
// the hit and which are repeats or other versions of it.
type shot struct {
	id    event.ShotID
	facts []member // as first seen
	best  int      // index of the entry that counts, -1: no valid line

	// What a Bay notes of it.
	complete bool    // all its entries are held
	homes    []*home // where its entries lie
	grown    bool    // entries came since it was resolved
	loud     bool    // its entries beside the hit have to be reported
	round    uint64  // last round of tagging that looked at it

	// Room for what nearly every shot has: one entry, in one stretch.
	one  [1]member
	home [1]*home
}

// member is an entry of a shot, and what a Bay notes of it.
type member struct {
	Fact
	note  any    // the caller's, as first given
	said  *Tag   // as last reported; nil: never
	force bool   // report it whether or not its tag changed
	round uint64 // last round that reported it
}

// begin makes an empty shot of the id.
func (s *shot) begin(id event.ShotID) {
	s.id, s.best = id, -1
	s.facts, s.homes = s.one[:0], s.home[:0]
}

// newShot makes a shot of the entries of one id.
func newShot(id event.ShotID, facts []Fact) *shot {
	s := &shot{}
	s.begin(id)
	for _, f := range facts {
		s.facts = append(s.facts, member{Fact: f})
	}
	s.resolve()
	return s
}

// add takes an entry in. It says whether that is news, and whether the entry
// took the place of another one under the same key. resolve has to follow.
func (s *shot) add(f *Fact, note any) (news, replaced bool) {
	for i := range s.facts {
		if known := &s.facts[i]; known.Key == f.Key {
			if preferred(*f, known.Fact) >= 0 {
				return false, false
			}
			known.Fact = *f
			return true, true
		}
	}
	s.facts = append(s.facts, member{Fact: *f, note: note})
	return true, false
}

// resolve finds the entry that counts.
//
// Lines that were no valid shot stand aside: a broken revision must not take a
// good shot away. Of the rest the contents compete, and the one with the
// highest (revision, time first seen) counts: a device that revises a shot
// writes another line later. Within a content the entry seen first counts, so
// a file that is read again changes nothing, but for one that was read again
// with a corrected map: of these the latest reading counts.
func (s *shot) resolve() {
	s.best = -1
	if len(s.facts) == 1 {
		if s.facts[0].Valid {
			s.best = 0
		}
		return
	}
	slices.SortFunc(s.facts, func(a, b member) int { return firstSeen(a.Fact, b.Fact) })
	type version struct {
		first    int // seen
		counts   int
		revision uint32
	}
	contents := map[uint64]*version{}
	for i := range s.facts {
		f := &s.facts[i]
		if !f.Valid {
			continue
		}
		v := contents[f.Content]
		if v == nil {
			v = &version{first: i, counts: i}
			contents[f.Content] = v
		}
		switch c := &s.facts[v.counts]; {
		case f.Reread > c.Reread:
			v.counts, v.revision = i, f.Revision
		case f.Reread == c.Reread:
			v.revision = max(v.revision, f.Revision)
		}
	}
	var best *version
	for _, v := range contents {
		if best == nil || cmp.Or(cmp.Compare(v.revision, best.revision), cmp.Compare(v.first, best.first)) > 0 {
			best = v
		}
	}
	if best != nil {
		s.best = best.counts
	}
}

// first is the entry that was seen first, valid or not: it tells when the shot
// was hit, however late the version that counts was written.
func (s *shot) first() *Fact { return &s.facts[0].Fact }

// hit returns the entry that stands for the hit; ok is false where there is
// none: every line was refused, or the device withdrew the shot.
func (s *shot) hit() (f *Fact, ok bool) {
	if s.best < 0 || s.facts[s.best].Deleted {
		return nil, false
	}
	return &s.facts[s.best].Fact, true
}

// status of the entry at index i, where it does not stand for the hit.
func (s *shot) status(i int) Status {
	switch f := &s.facts[i]; {
	case !f.Valid:
		return Rejected
	case i == s.best:
		return Deleted
	case f.Content == s.facts[s.best].Content && f.Reread == s.facts[s.best].Reread:
		return Repeat
	}
	return Superseded
}
