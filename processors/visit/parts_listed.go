package visit

import (
	"fmt"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/club/order"
	"fairlead/processors/visit/stock"
)

// MostListed are the parts that one event may list.
const MostListed = 500

var _ = kind(Kind{
	Name: "parts_listed", Bears: OnPages, Studio: true, Keeps: []string{"parts"},
	Acts: []Act{{
		Name: "part", Short: "List a part of the studio's catalogue, or say anew what is known of it",
		Example: "part --bay north SK2-7 head --category iron --club 7i --set head_model='Skerry 2' --set stated_loft=33deg --price '95.00 EUR'",
		Fields: []Field{
			{Name: "code", Arg: 1, Help: "your own name of it"},
			{Name: "kind", Arg: 2, Choices: words("PART_", event.PartKind_name)[1:], Help: "head, shaft, grip, adapter or work"},
			{Name: "category", Help: "which clubs it is for (default: any)"},
			{Name: "of", Flag: "club", Help: "which club of a set a head is: 7i"},
			{Name: "set", Many: true, Help: "a figure of it, PART=VALUE, such as head_weight=272g; the model is needed"},
			{Name: "tolerance", Many: true, Help: "± of the maker, PART=VALUE, such as head_weight=2g"},
			{Name: "metal", Help: "of a head: cast, forged"},
			{Name: "bend", Help: "how far the maker lets the head be bent, in degrees"},
			{Name: "price", Help: "of one piece, with its currency: '95.00 EUR'"},
			{Name: "least", Help: "as many should lie there"},
			{Name: "gone", Help: "it is not sold any more", Yes: true},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_PartsListed{PartsListed: &event.PartsListed{Parts: []*event.CataloguePart{r.part()}}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		all := ev.GetPartsListed().GetParts()
		if n := len(all); n == 0 || n > MostListed {
			c.Add("parts", n, fmt.Sprintf("not 1 to %d parts", MostListed), "name the parts, or list them in several turns")
		}
		var codes []string
		for i, p := range all {
			at := fmt.Sprintf("parts[%d].", i)
			if len(all) == 1 {
				at = ""
			}
			stock.CheckPart(c, at, p)
			if slices.Contains(codes, p.GetCode()) {
				c.Add(at+"code", p.GetCode(), "stands there twice", "give each part once")
			}
			codes = append(codes, p.GetCode())
		}
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) { f.shelved(ev) },
	says: func(_ *Teller, ev *event.VisitEvent) string {
		if all := ev.GetPartsListed().GetParts(); len(all) != 1 {
			return fmt.Sprintf("catalogue: %d parts", len(all))
		}
		return "catalogue: " + stock.Name(ev.GetPartsListed().Parts[0])
	},
})

// part reads a part of the catalogue.
func (r *Reader) part() *event.CataloguePart {
	p := &event.CataloguePart{Code: r.Text("code"), Kind: event.PartKind(r.choice("kind", "PART_", event.PartKind_value, -1)),
		Category: r.Text("category"), Metal: r.Text("metal"), Gone: r.Yes("gone"), Least: r.pieces("least")}
	if text := r.Text("of"); text != "" {
		if names, err := order.Names(text); err != nil || len(names) != 1 {
			r.Bad("of", text, "is no club of a set", "write one, such as 7i, pw, 56 or driver")
		} else {
			p.Club = names[0]
		}
	}
	b := &event.Build{}
	r.apply(b, slices.DeleteFunc(r.parts(), func(g partGiven) bool { return g.text == "" }))
	p.Specs = b.Specs
	if v := r.figure("bend", "lie", 0, 10); v != nil {
		p.BendLimitDeg = *v
	}
	for _, text := range r.Texts("tolerance") {
		name, value, _ := strings.Cut(text, "=")
		info, ok := event.BuildFieldNamed(strings.TrimSpace(name))
		v, err := club.ParseFigure(value, club.Figure{Name: info.Name, Quantity: info.Quantity, Min: 0, Max: info.Max, Prefer: r.prefer(info)})
		if !ok || info.Text || err != nil {
			r.Bad("tolerance", text, "can't be read", "write PART=VALUE, such as head_weight=2g")
			continue
		}
		p.Tolerances = append(p.Tolerances, &event.Tolerance{Field: info.Field, Off: v})
	}
	if text := r.Text("price"); text != "" {
		amount, currency, _ := strings.Cut(text, " ")
		v, err := stock.ParsePrice(amount)
		if err != nil {
			r.Bad("price", text, "is no price", "write it with its currency, such as 95.00 EUR")
		}
		p.Price, p.Currency = v, strings.ToUpper(strings.TrimSpace(currency))
	}
	return p
}
