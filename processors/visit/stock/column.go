package stock

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/club/order"
)

// Column is a column of a price list.
type Column struct{ Name, Help string }

// Columns are those that a price list may have; code and kind it must.
func Columns() []Column {
	return []Column{
		{"code", "your own name of the part: letters, digits, . _ : -"},
		{"kind", "head, shaft, grip, adapter or work"},
		{"category", "driver, wood, hybrid, iron, wedge or putter; empty: any"},
		{"club", "which club of a set a head is: 7i"},
		{"model", "as builds name it; of work, what is done; of an adapter, its setting"},
		{"loft", "of a head, as printed"}, {"lie", "of a head"}, {"face_angle", "of a head, open positive"}, {"bounce", "of a head"},
		{"sole", "of a head"}, {"finish", "of a head"},
		{"weight", "of the part; of a shaft, cut"},
		{"material", "of a shaft"}, {"flex", "of a shaft, as printed"}, {"torque", "of a shaft"}, {"frequency", "of a shaft"},
		{"raw_length", "of a shaft, uncut"},
		{"size", "core of a grip: standard, midsize, 0.6in"}, {"grip_form", "of a putter's grip"},
		{"tolerance_loft", "± by the maker"}, {"tolerance_lie", "± by the maker"}, {"tolerance_weight", "± by the maker"},
		{"metal", "of a head: cast, forged"}, {"bend_limit", "± by the maker; never bend past it"},
		{"price", "of one piece, to two places"}, {"currency", "three letters, one for the whole list"},
		{"least", "as many should lie there"}, {"pieces", "as many lie there now"}, {"gone", "yes: not sold any more"},
	}
}

// columnOf is the field of a build that a column says something of, for a kind.
func columnOf(column string, k event.PartKind) (event.BuildField, bool) {
	f := map[string]event.BuildField{"loft": event.BuildField_BUILD_STATED_LOFT, "lie": event.BuildField_BUILD_LIE,
		"face_angle": event.BuildField_BUILD_FACE_ANGLE, "bounce": event.BuildField_BUILD_BOUNCE, "sole": event.BuildField_BUILD_SOLE,
		"finish": event.BuildField_BUILD_FINISH, "material": event.BuildField_BUILD_SHAFT_MATERIAL, "flex": event.BuildField_BUILD_FLEX,
		"torque": event.BuildField_BUILD_TORQUE, "frequency": event.BuildField_BUILD_FREQUENCY,
		"raw_length": event.BuildField_BUILD_LENGTH, "size": event.BuildField_BUILD_GRIP_SIZE,
		"grip_form": event.BuildField_BUILD_GRIP_FORM, "model": Model(k)}[column]
	if column == "weight" {
		f = map[event.PartKind]event.BuildField{event.PartKind_PART_HEAD: event.BuildField_BUILD_HEAD_WEIGHT,
			event.PartKind_PART_SHAFT: event.BuildField_BUILD_SHAFT_WEIGHT, event.PartKind_PART_GRIP: event.BuildField_BUILD_GRIP_WEIGHT}[k]
	}
	if column == "finish" && k == event.PartKind_PART_WORK {
		return f, false // what is done is its model
	}
	return f, f != event.BuildField_BUILD_NONE && slices.Contains(Fields(k), f)
}

// row reads one part.
func (r *lister) row(cells []string) {
	before := len(r.list.Faults)
	r.at, r.spoilt = map[string]string{}, map[string]bool{}
	for i, c := range cells {
		words, kept := cell(c)
		r.at[r.header[i]] = words
		if reason, try := spoilt(words, kept); reason != "" {
			r.wrong(r.header[i], reason, try)
			r.at[r.header[i]], r.spoilt[r.header[i]] = "", true
		}
	}
	p := &event.CataloguePart{Code: r.at["code"], Category: strings.ToLower(r.at["category"]), Metal: strings.ToLower(r.at["metal"])}
	r.code(p)
	kind, ok := event.PartKind_value["PART_"+strings.ToUpper(r.at["kind"])]
	if p.Kind = event.PartKind(kind); (!ok || kind == 0) && !r.spoilt["kind"] {
		r.wrong("kind", "is no kind of part", "use head, shaft, grip, adapter or work")
	} else if !r.spoilt["kind"] { // which figures a part has depends on its kind
		r.figures(p)
	}
	r.sorted(p)
	r.costs(p)
	p.Gone = r.yes("gone")
	if n, ok := r.count("pieces", 1_000_000); ok {
		p.Pieces = &n
	}
	broken := len(r.list.Faults) > before
	if !broken {
		r.list.Parts = append(r.list.Parts, p)
	}
	// What a whole part contradicts is judged as where it is entered by hand. Of one
	// with faults what is missing from it is no news, only what its cells contradict.
	c := &event.Check{}
	CheckPart(c, "", p)
	for _, f := range c.Faults {
		if !broken || f.Field == "metal" || strings.HasPrefix(f.Field, "specs.") {
			r.bad(r.line, columnNamed(f.Field, p.Kind), f.Value, f.Reason, f.Hint)
		}
	}
}

// columnNamed is the column of what a fault of a part calls by its name in the contract.
func columnNamed(field string, k event.PartKind) string {
	name, spec := strings.CutPrefix(field, "specs.")
	for _, c := range Columns() {
		if f, ok := columnOf(c.Name, k); spec && ok {
			if info, _ := f.Info(); info.Name == name {
				return c.Name
			}
		}
	}
	return strings.TrimSuffix(field, "_deg")
}

func (r *lister) code(p *event.CataloguePart) {
	c := &event.Check{}
	c.ID("code", p.Code, false)
	small := strings.ToLower(p.Code)
	switch before, twice := r.first[small]; {
	case r.spoilt["code"]:
	case len(c.Faults) > 0:
		r.wrong("code", c.Faults[0].Reason, "give each part a code of yours: letters, digits, '.', '_', ':' and '-', up to 64")
	case twice:
		r.wrong("code", fmt.Sprintf("stands in line %d too", before),
			"give each part once; codes that differ in capitals only are taken for one another")
	default:
		r.first[small] = r.line
	}
}

// figures reads the columns that are parts of a build.
func (r *lister) figures(p *event.CataloguePart) {
	for _, column := range r.header {
		text := r.at[column]
		f, fits := columnOf(column, p.Kind)
		switch {
		case text == "" || slices.Contains([]string{"code", "kind", "category", "club", "metal", "bend_limit", "price", "currency", "least",
			"pieces", "gone"}, column):
			continue
		case strings.HasPrefix(column, "tolerance_"):
			r.tolerance(p, column)
			continue
		case !fits:
			r.wrong(column, "is nothing that "+article(p.Kind)+" has", "leave the cell empty")
			continue
		}
		info, _ := f.Info()
		if info.Text {
			p.Specs = append(p.Specs, &event.Spec{Field: f, Text: text})
			continue
		}
		if v, ok := r.number(column, info); ok {
			p.Specs = append(p.Specs, &event.Spec{Field: f, Number: v})
		}
	}
	if Spec(p, Model(p.Kind)) == nil && !r.spoilt["model"] {
		r.wrong("model", "missing", "name the model as builds name it")
	}
}

func article(k event.PartKind) string {
	if k == event.PartKind_PART_ADAPTER {
		return "an adapter"
	}
	return "a " + KindWord(k)
}

// twoFigures are those with a stroke between them that no ruler has: 9/10.
func twoFigures(text string) bool {
	above, below, stroke := strings.Cut(text, "/")
	if !stroke {
		return false
	}
	words := strings.FieldsFunc(above, func(c rune) bool { return c == ' ' || c == '-' }) // 46 1/2, 46-1/2
	if len(words) == 0 {
		return false
	}
	n, err1 := strconv.Atoi(strings.TrimFunc(words[len(words)-1], func(c rune) bool { return c < '0' || c > '9' }))
	end := strings.IndexFunc(below, func(c rune) bool { return c < '0' || c > '9' })
	if end < 0 {
		end = len(below)
	}
	d, err2 := strconv.Atoi(below[:end])
	return err1 != nil || err2 != nil || d > 64 || d&(d-1) != 0 || n >= d
}

func (r *lister) number(column string, info event.BuildFieldInfo) (float64, bool) {
	if twoFigures(r.at[column]) {
		r.wrong(column, "is two figures, or a fraction that no ruler has", "write one figure, with its unit")
		return 0, false
	}
	v, relative, err := club.ReadFigure(r.at[column], club.Figure{Name: info.Name, Quantity: info.Quantity, Min: info.Min, Max: info.Max})
	switch {
	case err != nil:
		r.wrong(column, "can't be read: "+err.Error(), "write it as on paper, with its unit")
	case relative:
		r.wrong(column, "is a change, not a figure", "write what the part has")
	case !(v >= info.Min && v <= info.Max):
		r.wrong(column, "is more or less than can be", "check the figure and its unit")
	default:
		return v, true
	}
	return 0, false
}

// tolerance reads how far a figure may be off.
func (r *lister) tolerance(p *event.CataloguePart, column string) {
	f, fits := columnOf(strings.TrimPrefix(column, "tolerance_"), p.Kind)
	if !fits {
		r.wrong(column, "is nothing that "+article(p.Kind)+" has", "leave the cell empty")
		return
	}
	info, _ := f.Info()
	info.Min, info.Max = 0, mostOff(f)
	r.at[column] = strings.TrimPrefix(strings.TrimPrefix(r.at[column], "±"), "+/-")
	if v, ok := r.number(column, info); ok {
		p.Tolerances = append(p.Tolerances, &event.Tolerance{Field: f, Off: v})
	}
}

// mostOff is the widest tolerance that a figure can have: 5°, 20 g.
func mostOff(f event.BuildField) float64 {
	if info, _ := f.Info(); info.Quantity == "angle" {
		return 5
	}
	return 0.02
}

// sorted reads for which clubs a part is, and how far a head bends.
func (r *lister) sorted(p *event.CataloguePart) {
	if p.Category != "" {
		if _, err := glossary.ParseCategory(p.Category); err != nil {
			r.wrong("category", "is no kind of club", "use driver, wood, hybrid, iron, wedge or putter, or leave it empty")
		}
	}
	if text := r.at["club"]; text != "" {
		if names, err := order.Names(text); err != nil || len(names) != 1 {
			r.wrong("club", "is no club of a set", "write one, such as 7i, pw, 56 or driver")
		} else {
			p.Club = names[0]
			r.ofSet(p)
		}
	}
	if r.at["bend_limit"] != "" {
		r.at["bend_limit"] = strings.TrimPrefix(r.at["bend_limit"], "±")
		info, _ := event.BuildField_BUILD_LIE.Info()
		info.Min, info.Max = 0, 10
		if v, ok := r.number("bend_limit", info); ok {
			p.BendLimitDeg = v
		}
	}
}

// ofSet holds the kind of club against the club of a set: of merged cells all but the
// first come empty, and a part without a kind of club is one of any.
func (r *lister) ofSet(p *event.CataloguePart) {
	of, known := club.CategoryOf(p.Club)
	said := glossary.Category(p.Category)
	irons := []glossary.Category{glossary.Iron, glossary.Wedge} // a set's wedges are either
	switch {
	case !known || r.spoilt["category"] || !said.Known() && p.Category != "":
	case said == "":
		r.bad(r.line, "category", "", "missing for a head of one club, "+p.Club,
			"write "+string(of)+"; merged cells keep their words in the first only")
	case said != of && !(slices.Contains(irons, said) && slices.Contains(irons, of)):
		r.wrong("category", "is not what "+p.Club+" is", "write "+string(of)+", or another club")
	}
}

// pricedAt is what a line says of a price.
type pricedAt struct {
	line  int
	kind  event.PartKind
	text  string
	price int64
}

// prices looks for dates among the prices: a table counts days from 1900, so that a date
// of these years is a whole number of five digits, far from all that parts of its kind cost.
func (r *lister) prices() {
	for i, p := range r.priced {
		if len(p.text) != 5 || p.price < 36526_00 || p.price > 62000_00 || strings.Trim(p.text, "0123456789") != "" {
			continue
		}
		var others []int64
		for k, o := range r.priced {
			if k != i && o.kind == p.kind {
				others = append(others, o.price)
			}
		}
		slices.Sort(others)
		if len(others) > 0 && others[len(others)/2]*20 < p.price {
			day := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(p.price/100))
			r.bad(p.line, "price", p.text, "is what a table makes of a date ("+day.Format("2 January 2006")+"), and far from the other prices",
				"format the column as numbers and write it again, or as "+p.text+".00 where it is meant")
		}
	}
}

// costs reads what a part costs.
func (r *lister) costs(p *event.CataloguePart) {
	if n, ok := r.count("least", 1_000_000); ok {
		p.Least = n
	}
	text := strings.ToUpper(r.at["currency"])
	good := text == "" || len(text) == 3 && strings.Trim(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
	if !good {
		r.wrong("currency", "is no currency", "write its three letters, such as EUR")
	}
	if r.at["price"] == "" {
		return
	}
	price, err := ParsePrice(r.at["price"])
	if err != nil {
		r.wrong("price", err.Error(), "write it as 1890.00, without a sign of the currency and without one for thousands")
		return
	}
	switch {
	case !good:
		return
	case text == "":
		r.bad(r.line, "currency", "", "a price without its currency", "write its three letters, such as EUR")
		return
	case r.currency != "" && r.currency != text:
		r.wrong("currency", "is another one than in the lines before, "+r.currency, "keep one currency: prices add up to a quote")
		return
	}
	r.currency, p.Price, p.Currency = text, price, text
	r.priced = append(r.priced, pricedAt{r.line, p.Kind, r.at["price"], price})
}

// ParsePrice reads a price in hundredths: 189, 189.00, 189,50.
func ParsePrice(text string) (int64, error) {
	whole, part, _ := strings.Cut(strings.Replace(strings.TrimSpace(text), ",", ".", 1), ".")
	n, err := strconv.ParseUint(whole, 10, 32)
	if err != nil || len(part) > 2 || strings.ContainsAny(part, ".,") {
		return 0, fmt.Errorf("is no price")
	}
	cents, err := strconv.ParseUint((part + "00")[:2], 10, 8)
	if err != nil {
		return 0, fmt.Errorf("is no price")
	}
	return int64(n*100 + cents), nil
}

func (r *lister) count(column string, most int64) (int64, bool) {
	text := r.at[column]
	if text == "" {
		return 0, false
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 0 || n > most {
		r.wrong(column, "is no number of pieces", "write a whole number from 0")
		return 0, false
	}
	return n, true
}

func (r *lister) yes(column string) bool {
	text := strings.ToLower(r.at[column])
	if text != "" && text != "yes" && text != "no" {
		r.wrong(column, "is neither yes nor no", "write yes, no or nothing")
	}
	return text == "yes"
}
