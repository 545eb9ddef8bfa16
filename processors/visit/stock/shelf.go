package stock

import (
	"cmp"
	"maps"
	"slices"

	"fairlead/ingest/contract/event"
)

// Said is one thing that was said of the shelf: one of the three is there.
type Said struct {
	Event  string
	At     int64 // Unix ns
	Who    string
	Listed *event.PartsListed
	Count  *event.StockCounted
	Test   *event.TestClubPlaced
}

// Use is what an order takes. Once it is begun its parts are gone from the shelf.
// Before that they are spoken for.
type Use struct {
	Order string
	Parts []*event.OrderedPart
	Begun bool
	At    int64 // when the order was placed, or, where it was begun, when that was
}

// Shelf is the catalogue, with how many of each part lie there.
type Shelf struct {
	parts map[string]*event.CataloguePart
	on    map[string]int64
	known map[string]int64 // when it was counted; none: never
	held  map[string]int64 // spoken for by orders that are not begun
	tests map[string]*event.TestClubPlaced
	words map[worded][]string
}

// worded names the words of a part of a club, by category; empty: any.
type worded struct {
	category string
	field    event.BuildField
}

// NewShelf folds what was said, by time, and what orders took since. Of what is
// said of a part or a test club the latest counts; pieces add up from the last
// count on. A part that was never counted is not known to be there.
func NewShelf(said []Said, uses []Use) *Shelf {
	s := &Shelf{parts: map[string]*event.CataloguePart{}, on: map[string]int64{}, known: map[string]int64{}, held: map[string]int64{},
		tests: map[string]*event.TestClubPlaced{}}
	said = slices.Clone(said)
	slices.SortStableFunc(said, func(a, b Said) int { return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Event, b.Event)) })
	for _, one := range said {
		for _, p := range one.Listed.GetParts() {
			s.parts[p.GetCode()] = p
			if p.Pieces != nil {
				s.on[p.GetCode()], s.known[p.GetCode()] = p.GetPieces(), one.At
			}
		}
		if t := one.Test; t != nil {
			s.tests[t.GetClubId()] = t
		}
		s.count(one)
	}
	s.words = map[worded][]string{}
	for _, p := range s.Parts() {
		for _, spec := range p.GetSpecs() {
			if at := (worded{p.GetCategory(), spec.GetField()}); spec.GetText() != "" && p.GetKind() != event.PartKind_PART_WORK &&
				!slices.Contains(s.words[at], spec.GetText()) {
				s.words[at] = append(s.words[at], spec.GetText())
			}
		}
	}
	for _, u := range uses {
		for _, p := range u.Parts {
			switch at, counted := s.known[p.GetCode()]; {
			case !u.Begun:
				s.held[p.GetCode()]++
			case counted && u.At > at:
				s.on[p.GetCode()]--
			}
		}
	}
	return s
}

func (s *Shelf) count(one Said) {
	c := one.Count
	if c == nil {
		return
	}
	switch c.GetReason() {
	case event.StockReason_STOCK_COUNTED:
		s.on[c.GetPart()], s.known[c.GetPart()] = c.GetPieces(), one.At
		return
	case event.StockReason_STOCK_RECEIVED, event.StockReason_STOCK_PUT_BACK:
		s.on[c.GetPart()] += c.GetPieces()
	default:
		s.on[c.GetPart()] -= c.GetPieces()
	}
	if _, counted := s.known[c.GetPart()]; !counted {
		s.known[c.GetPart()] = one.At
	}
}

// Part is the part of a code that is still sold; nil: there is none.
func (s *Shelf) Part(code string) *event.CataloguePart {
	if s == nil || s.parts[code] == nil || s.parts[code].GetGone() {
		return nil
	}
	return s.parts[code]
}

// Ever is the part of a code, sold or not any more; nil: it was never listed.
func (s *Shelf) Ever(code string) *event.CataloguePart {
	if s == nil {
		return nil
	}
	return s.parts[code]
}

// Parts are the parts that are sold, by kind and code.
func (s *Shelf) Parts() (out []*event.CataloguePart) {
	if s == nil {
		return nil
	}
	for _, code := range slices.Sorted(maps.Keys(s.parts)) {
		if p := s.parts[code]; !p.GetGone() {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out, func(a, b *event.CataloguePart) int { return int(a.GetKind()) - int(b.GetKind()) })
	return out
}

// Words are the models and words that parts of the catalogue have for a part of a
// club of a category.
func (s *Shelf) Words(category string, f event.BuildField) (out []string) {
	for _, c := range []string{category, ""} {
		for _, text := range s.words[worded{c, f}] {
			if !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return out
}

// Level is how many pieces of a part there are.
type Level struct {
	On    int64 // lie there; below zero: more were taken than were counted
	Held  int64 // spoken for by orders that are not begun
	Least int64 // as many should be free
	Known bool  // it was ever counted
}

// Free are the pieces that nobody spoke for; below zero: so many have to come.
func (l Level) Free() int64 { return l.On - l.Held }

// Short says that it runs out: less is free than should be, or than is needed.
func (l Level) Short() bool {
	return l.Known && (l.Free() < l.Least || l.Free() < 0) || !l.Known && l.Held > 0
}

// Level is how many pieces of a part there are.
func (s *Shelf) Level(code string) Level {
	_, known := s.known[code]
	return Level{s.on[code], s.held[code], s.parts[code].GetLeast(), known}
}

// RunsOut are the parts that run out, work left out.
func (s *Shelf) RunsOut() (out []*event.CataloguePart) {
	for _, p := range s.Parts() {
		if p.GetKind() != event.PartKind_PART_WORK && s.Level(p.GetCode()).Short() {
			out = append(out, p)
		}
	}
	return out
}

// TestClubs are the studio's test clubs, by bay and id.
func (s *Shelf) TestClubs() (out []*event.TestClubPlaced) {
	if s == nil {
		return nil
	}
	for _, id := range slices.Sorted(maps.Keys(s.tests)) {
		if t := s.tests[id]; !t.GetGone() {
			out = append(out, t)
		}
	}
	slices.SortStableFunc(out, func(a, b *event.TestClubPlaced) int { return cmp.Compare(a.GetBay(), b.GetBay()) })
	return out
}

// TestClub is the test club of an id; nil: there is none.
func (s *Shelf) TestClub(id string) *event.TestClubPlaced {
	if s == nil || s.tests[id] == nil || s.tests[id].GetGone() {
		return nil
	}
	return s.tests[id]
}

// BuildOf is what is known of a test club: of itself first, then of its parts.
func (s *Shelf) BuildOf(t *event.TestClubPlaced) *event.Build {
	b := &event.Build{ClubId: t.GetClubId()}
	var parts []*event.CataloguePart
	for _, code := range t.GetParts() {
		if p := s.Ever(code); p != nil {
			parts = append(parts, p)
		}
	}
	have := map[event.BuildField]bool{}
	for _, one := range t.GetSpecs() {
		have[one.Field] = true
		b.Specs = append(b.Specs, &event.Spec{Field: one.Field, Number: one.Number, Text: one.Text, Knowledge: one.Knowledge,
			MeasuredOn: measuredOn(one, t)})
	}
	for _, one := range Build(parts) {
		if !have[one.Field] {
			b.Specs = append(b.Specs, one)
		}
	}
	slices.SortFunc(b.Specs, func(x, y *event.Spec) int { return int(x.Field) - int(y.Field) })
	return b
}

func measuredOn(s *event.Spec, t *event.TestClubPlaced) string {
	if s.GetKnowledge() == event.Knowledge_KNOWLEDGE_MEASURED {
		return t.GetClubId()
	}
	return ""
}
