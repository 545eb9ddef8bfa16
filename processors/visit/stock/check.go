package stock

import (
	"fmt"
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
)

// CheckPart notes what is wrong with a part of the catalogue, whoever lists it; at
// leads the names of its fields.
func CheckPart(c *event.Check, at string, p *event.CataloguePart) {
	c.ID(at+"code", p.GetCode(), false)
	if _, known := event.PartKind_name[int32(p.GetKind())]; !known || p.GetKind() == event.PartKind_PART_NONE {
		c.Add(at+"kind", p.GetKind(), "is no kind of part", "use head, shaft, grip, adapter or work")
		return
	}
	c.OneOf(at+"category", p.GetCategory(), glossary.CategoryNames()...)
	c.Text(at+"club", p.GetClub(), 40)
	c.Text(at+"metal", p.GetMetal(), event.LongestLabel)
	c.Number(at+"bend_limit_deg", p.GetBendLimitDeg(), 0, 10, "deg")
	c.Number(at+"price", float64(p.GetPrice()), 0, 1e12, "hundredths")
	c.Number(at+"least", float64(p.GetLeast()), 0, 1e6, "pieces")
	c.Number(at+"pieces", float64(p.GetPieces()), 0, 1e6, "pieces")
	if (p.GetBendLimitDeg() != 0 || p.GetMetal() != "" || p.GetClub() != "") && p.GetKind() != event.PartKind_PART_HEAD {
		c.Add(at+"metal", p.GetMetal(), "a club of a set, a metal or a bend limit of what is no head", "leave it out")
	}
	if n := len(p.GetCurrency()); p.GetPrice() != 0 && n != 3 || n != 0 && n != 3 {
		c.Add(at+"currency", p.GetCurrency(), "is no currency", "write its three letters, such as EUR")
	}
	for _, s := range p.GetSpecs() {
		if info, known := s.GetField().Info(); known && !slices.Contains(Fields(p.GetKind()), s.GetField()) {
			c.Add(at+info.Name, s.GetText(), "is nothing that "+article(p.GetKind())+" has", "leave it out")
		}
	}
	if Spec(p, Model(p.GetKind())).GetText() == "" {
		c.Add(at+"model", "", "missing", "name the model as builds name it")
	}
	c.Build(at+"specs", &event.Build{Specs: p.GetSpecs()})
	for i, t := range p.GetTolerances() {
		if !slices.Contains(Fields(p.GetKind()), t.GetField()) {
			c.Add(fmt.Sprintf("%stolerances[%d]", at, i), t.GetField(), "is nothing that "+article(p.GetKind())+" has", "leave it out")
			continue
		}
		c.Number(fmt.Sprintf("%stolerances[%d].off", at, i), t.GetOff(), 0, mostOff(t.GetField()), "")
	}
}
