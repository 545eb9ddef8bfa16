package stock

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// Change is what a price list would say or said anew.
type Change struct {
	DryRun  bool     `json:"dry_run"`
	New     []string `json:"new"` // codes
	Changed []string `json:"changed"`
	Counted []string `json:"counted"` // whose pieces are others now, and nothing else
	Same    int      `json:"same"`
	Faults  []Fault  `json:"faults,omitempty"`

	Parts []*event.CataloguePart `json:"-"` // to be listed
}

// Against holds a list against the shelf: what it says anew. Parts that it does not
// name stay as they are.
func (l List) Against(s *Shelf) Change {
	c := Change{Faults: l.Faults, New: []string{}, Changed: []string{}, Counted: []string{}}
	if len(l.Faults) > 0 {
		return c
	}
	for _, p := range l.Parts {
		was, level := s.Ever(p.GetCode()), s.Level(p.GetCode())
		counted := p.Pieces != nil && (!level.Known || level.On != p.GetPieces())
		switch {
		case was == nil:
			c.New = append(c.New, p.GetCode())
		case !proto.Equal(uncounted(was), uncounted(p)):
			c.Changed = append(c.Changed, p.GetCode())
		case counted:
			c.Counted = append(c.Counted, p.GetCode())
		default:
			c.Same++
			continue
		}
		c.Parts = append(c.Parts, p)
	}
	return c
}

func uncounted(p *event.CataloguePart) *event.CataloguePart {
	out := proto.Clone(p).(*event.CataloguePart)
	out.Pieces = nil
	slices.SortFunc(out.Specs, func(a, b *event.Spec) int { return int(a.Field) - int(b.Field) })
	slices.SortFunc(out.Tolerances, func(a, b *event.Tolerance) int { return int(a.Field) - int(b.Field) })
	return out
}

// Failed says that the list can't be used.
func (c Change) Failed() bool { return len(c.Faults) > 0 }

// WriteText tells of it in words.
func (c Change) WriteText(w io.Writer) error {
	if c.Failed() {
		fmt.Fprintf(w, "nothing was listed: %d fault(s)\n", len(c.Faults))
		for _, f := range c.Faults {
			fmt.Fprintln(w, f.Error())
		}
		return nil
	}
	for _, part := range []struct {
		what  string
		codes []string
	}{{"new", c.New}, {"changed", c.Changed}, {"counted", c.Counted}} {
		if len(part.codes) > 0 {
			fmt.Fprintf(w, "%-8s %4d  %s\n", part.what, len(part.codes), strings.Join(part.codes, " "))
		}
	}
	fmt.Fprintf(w, "%-8s %4d\n", "as known", c.Same)
	if c.DryRun {
		_, err := fmt.Fprintln(w, "nothing was written: it was a dry run")
		return err
	}
	return nil
}

// WriteList writes the catalogue as a price list that Read reads: the pieces that
// lie there too, where they are known.
func (s *Shelf) WriteList(w io.Writer) error {
	out := csv.NewWriter(w)
	var names []string
	for _, c := range Columns() {
		names = append(names, c.Name)
	}
	out.Write(names)
	for _, p := range s.Parts() {
		row := make([]string, len(names))
		for i, name := range names {
			row[i] = s.cell(p, name)
		}
		out.Write(row)
	}
	out.Flush()
	return out.Error()
}

func (s *Shelf) cell(p *event.CataloguePart, column string) string {
	whole := func(n int64) string {
		if n == 0 {
			return ""
		}
		return strconv.FormatInt(n, 10)
	}
	switch column {
	case "code":
		return p.GetCode()
	case "kind":
		return KindWord(p.GetKind())
	case "category":
		return p.GetCategory()
	case "club":
		return p.GetClub()
	case "metal":
		return p.GetMetal()
	case "bend_limit":
		return figure(p.GetBendLimitDeg(), unit.Angle)
	case "price":
		text, _, _ := strings.Cut(Price(p.GetPrice(), p.GetCurrency()), " ")
		return text
	case "currency":
		return p.GetCurrency()
	case "least":
		return whole(p.GetLeast())
	case "pieces":
		if l := s.Level(p.GetCode()); l.Known {
			return strconv.FormatInt(max(0, l.On), 10)
		}
		return ""
	}
	if name, is := strings.CutPrefix(column, "tolerance_"); is {
		f, _ := columnOf(name, p.GetKind())
		info, _ := f.Info()
		for _, t := range p.GetTolerances() {
			if t.GetField() == f {
				return figure(t.GetOff(), info.Quantity)
			}
		}
		return ""
	}
	f, ok := columnOf(column, p.GetKind())
	spec := Spec(p, f)
	if !ok || spec == nil {
		return ""
	}
	if info, _ := f.Info(); !info.Text {
		return figure(spec.GetNumber(), info.Quantity)
	}
	return plain(spec.GetText())
}

// plain keeps a spreadsheet from taking words for a formula.
func plain(text string) string {
	if strings.ContainsAny(text[:min(1, len(text))], "=+-@\t\r") {
		return "'" + text
	}
	return text
}

// shortest are the units in which figures are tried to be written: the first in
// which few digits say the same.
var shortest = map[unit.Quantity][]string{unit.Mass: {"g", "oz"}, unit.Length: {"in", "mm"}, unit.Angle: {"deg"}}

// figure writes a figure with its unit, without loss.
func figure(v float64, q unit.Quantity) string {
	if v == 0 {
		return ""
	}
	for _, u := range shortest[q] {
		one, err := unit.Parse(q, "1 "+u)
		text := strconv.FormatFloat(v/one, 'g', 6, 64) + " " + u
		if back, err2 := unit.Parse(q, text); err == nil && err2 == nil && back == v {
			return text
		}
	}
	return strconv.FormatFloat(v, 'g', -1, 64) + " " + unit.Stored(q)
}
