package tag

import (
	"slices"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// Rules are the settings of tagging. Every process of a studio has to use the
// same ones, or tags differ between them.
type Rules struct {
	// PairWindow is how far apart two devices' times of one hit may lie.
	PairWindow time.Duration
}

// DefaultRules suit devices that report within a second of the hit.
func DefaultRules() Rules { return Rules{PairWindow: 1500 * time.Millisecond} }

// Compute tags every entry of a bay under the default rules: the definition
// of what a tag is. Facts may be given in any order and more than once.
func Compute(log *visit.Log, facts []Fact) map[Key]Tag { return DefaultRules().Compute(log, facts) }

// Compute tags every entry of a bay.
func (r Rules) Compute(log *visit.Log, facts []Fact) map[Key]Tag {
	distinct := map[Key]Fact{}
	for _, f := range facts {
		if known, ok := distinct[f.Key]; !ok || preferred(f, known) < 0 {
			distinct[f.Key] = f
		}
	}
	byID := map[event.ShotID][]Fact{}
	for _, f := range distinct {
		byID[f.ID] = append(byID[f.ID], f)
	}
	shots := make([]*shot, 0, len(byID))
	for id, facts := range byID {
		shots = append(shots, newShot(id, facts))
	}
	tl := log.Timeline()
	tags := make(map[Key]Tag, len(distinct))
	put := func(s *shot, i int, t *Tag) { tags[s.facts[i].Key] = *t }
	for _, s := range shots {
		s.aside(tl, put)
	}
	r.hits(tl, shots, nil, nil, put)
	return tags
}

// giver takes the tag of an entry of a shot; the tag is for reading, and good
// until the giver returns.
type giver func(s *shot, entry int, t *Tag)

// aside tags the entries of a shot that do not stand for its hit. Their tags
// depend on the events and on this shot alone.
func (s *shot) aside(tl *visit.Timeline, give giver) {
	_, stands := s.hit()
	for i := range s.facts {
		if stands && i == s.best {
			continue
		}
		f := &s.facts[i].Fact
		t := &Tag{Situation: nowhere, Status: s.status(i), At: placed(tl, f), Version: Version(tl.Events, len(s.facts), 0)}
		switch t.Status {
		case Rejected:
			t.Reason = "not a valid shot"
		case Deleted:
			t.Reason, t.At = "withdrawn by the device", placed(tl, s.first())
		case Repeat:
			t.Reason = "the same line was read before"
		case Superseded:
			t.Reason = "another version of the shot counts"
		}
		if t.Status == Rejected || t.Status == Deleted {
			if session := tl.At(t.At).Session; session != nil && session.MovedTo == "" {
				t.Situation = &Situation{Visit: session.Visit, Session: session.ID}
			}
		} else {
			t.Of = s.facts[s.best].Key
		}
		s.forget(tl, t)
		give(s, i, t)
	}
}

// hits tags the entries that stand for a hit, given all shots of the regions
// concerned. Where only is not nil, tags are given for hits whose stretch it
// holds; the other shots are there for what they bear on. room, where given,
// is memory to work in: what is left in it means nothing.
func (r Rules) hits(tl *visit.Timeline, shots []*shot, only map[stretch]bool, room *[]hit, give giver) {
	if room == nil {
		room = new([]hit)
	}
	all := slices.Grow((*room)[:0], len(shots))
	defer func() { clear(all); *room = all }()
	homes := newGroups[stretch]()
	find := finder{tl: tl}
	for _, s := range shots {
		f, ok := s.hit()
		if !ok {
			continue
		}
		origin := s.first()
		w := timeOf(tl, origin)
		home := find.at(w.at)
		if only != nil && !only[home] {
			continue
		}
		all = append(all, hit{shot: s, fact: f, origin: origin, at: w.at, lo: w.lo, hi: w.hi, home: home})
		homes.add(home, &all[len(all)-1])
	}
	for _, hits := range homes.hits {
		pair(tl, hits, int64(r.PairWindow))
	}
	sessions := newGroups[string]()
	in := situations{tl: tl}
	for i := range all {
		h := &all[i]
		if h.primary != nil {
			continue
		}
		place(&in, h)
		if h.tag.Status.Ordered() {
			sessions.add(h.tag.Session, h)
		}
	}
	for _, hits := range sessions.hits {
		number(tl, hits)
	}
	sizes := newRegions(tl, shots)
	for i := range all {
		h := &all[i]
		if h.primary != nil {
			second(h)
		} else if h.second != nil {
			h.tag.PairedWith = h.second.fact.Key
		}
		h.tag.Version = Version(tl.Events, len(h.shot.facts), sizes.size(h.home))
		give(h.shot, h.shot.best, &h.tag)
	}
}
