package stock

import (
	"strings"

	"fairlead/ingest/contract/event"
)

// Match are the parts of a kind that fit a club of an order: of its model, and of
// its category, name, loft and flex where the part says any. None: the catalogue
// does not have it, or the club says nothing of that kind.
func (s *Shelf) Match(k event.PartKind, c *event.OrderedClub) (out []*event.CataloguePart) {
	model := c.GetBuild().Spec(Model(k)).GetText()
	if model == "" && k != event.PartKind_PART_WORK {
		return nil
	}
	for _, p := range s.Parts() {
		if p.GetKind() == k && fits(p, c, model) {
			out = append(out, p)
		}
	}
	return out
}

func fits(p *event.CataloguePart, c *event.OrderedClub, model string) bool {
	if p.GetCategory() != "" && p.GetCategory() != c.GetCategory() || p.GetClub() != "" && p.GetClub() != c.GetName() {
		return false
	}
	if p.GetKind() == event.PartKind_PART_WORK {
		return true
	}
	if !strings.EqualFold(Spec(p, Model(p.GetKind())).GetText(), model) {
		return false
	}
	for _, f := range []event.BuildField{event.BuildField_BUILD_FLEX, event.BuildField_BUILD_GRIP_FORM} {
		x, y := Spec(p, f), c.GetBuild().Spec(f)
		if x != nil && y != nil && !strings.EqualFold(x.GetText(), y.GetText()) {
			return false
		}
	}
	for f, near := range map[event.BuildField]float64{event.BuildField_BUILD_STATED_LOFT: 0.05, event.BuildField_BUILD_GRIP_SIZE: 2e-4} {
		x, y := Spec(p, f), c.GetBuild().Spec(f)
		if x != nil && y != nil && (x.GetNumber() > y.GetNumber()+near || x.GetNumber() < y.GetNumber()-near) {
			return false
		}
	}
	return true
}

// Needs are what one club of an order takes, kind by kind.
type Needs struct {
	Club  string
	Kinds []Need
}

// Need is one kind of part of a club: the one that is taken, or those that it has
// to be chosen from.
type Need struct {
	Kind   event.PartKind
	Taken  *event.CataloguePart   // nil: none fits, or several do
	Choice []*event.CataloguePart // that fit
	Said   bool                   // somebody chose it
	Lacks  bool                   // the club names a model that the catalogue does not have
}

// Needs finds what a club takes. Said are the codes that somebody chose for it,
// by kind; "-" takes none. Of work what is meant for its category is taken; of a
// club that is only altered nothing but work is.
func (s *Shelf) Needs(c *event.OrderedClub, said map[event.PartKind]string) Needs {
	n := Needs{Club: c.GetName()}
	for _, k := range Kinds() {
		need := Need{Kind: k}
		need.Choice = s.Match(k, c)
		switch code := said[k]; {
		case code == "-":
			need.Said = true
		case code != "":
			need.Taken, need.Said = s.Part(code), true
		case c.GetOwn() && k != event.PartKind_PART_WORK:
		case len(need.Choice) == 1:
			need.Taken = need.Choice[0]
		default:
			need.Lacks = len(need.Choice) == 0 && c.GetBuild().Spec(Model(k)) != nil && k != event.PartKind_PART_WORK
		}
		n.Kinds = append(n.Kinds, need)
	}
	return n
}

// Parts are the taken parts as an order keeps them, with what each costs.
func (n Needs) Parts() (out []*event.OrderedPart) {
	for _, k := range n.Kinds {
		if p := k.Taken; p != nil {
			out = append(out, &event.OrderedPart{Code: p.GetCode(), Kind: p.GetKind(), Price: p.GetPrice(), Currency: p.GetCurrency(),
				Club: n.Club})
		}
	}
	return out
}
