package guess

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/plausible"
)

// Columns whose names are known nowhere may still be told: by the unit that they
// are said to have, by the letters of their names, and by which of the measures
// makes the shots go together. What is found so is asked in one question, and
// left out until it is answered.

// asKnown are words of each measure that flight tells of, of which a device may
// write the beginnings.
var asKnown = []struct {
	field string
	words []string
}{
	{"ball_speed", []string{"ball speed", "ball velocity", "initial velocity"}},
	{"clubhead_speed", []string{"club speed", "clubhead speed", "head speed", "swing speed"}},
	{"launch_angle", []string{"launch angle", "vertical launch", "elevation", "theta"}},
	{"launch_direction", []string{"launch direction", "start direction", "horizontal launch", "azimuth", "phi"}},
	{"spin_rate", []string{"spin rate", "total spin", "omega"}},
	{"spin_axis", []string{"spin axis", "axis tilt", "tau"}},
	{"carry", []string{"carry distance", "range"}},
	{"total", []string{"total distance"}},
	{"offline", []string{"offline", "lateral", "deviation", "dispersion", "side distance", "drift"}},
	{"apex", []string{"apex height", "peak height", "maximum height"}},
	{"landing_angle", []string{"landing angle", "descent angle"}},
	{"hang_time", []string{"hang time", "flight time"}},
}

// mostSupposed bounds how many ways are tried of giving columns fields.
const mostSupposed = 400

// supposing is a column and what it may be.
type supposing struct {
	col    *column
	fields []*Field
}

// supposed proposes fields for columns without a known name.
func (d *draft) supposed() {
	answer := d.answers["names"]
	if answer == "no" || len(d.fields) == 0 {
		return
	}
	list := d.supposable()
	if len(list) == 0 {
		return
	}
	open, asked := snapshot([]group{{fields: d.fields}}), d.questions
	d.settleUnits()
	d.questions = asked
	found := d.fitted(list)
	restore(open)
	d.costs = nil
	if len(found) == 0 {
		return
	}
	said, names := []string{}, []string{}
	for _, f := range found {
		said, names = append(said, f.Column+" "+strings.ToLower(f.info.Label)), append(names, f.Column)
	}
	a := d.ask(Question{Key: "names", Text: fmt.Sprintf("Nothing says what %s are. By how the shots go together: %s. Is it so?",
		strings.Join(names, ", "), strings.Join(said, ", ")), Options: []string{"yes", "no"},
		Words: []string{"yes, take them so", "no, leave them out"}, Assumed: "no"})
	if a != "yes" {
		return
	}
	for _, f := range found {
		if len(f.col.units) == 0 {
			f.Unit = ""
		}
		f.col.field, f.col.other = f.Name, ""
		d.fields = append(d.fields, f)
	}
}

// supposable are the columns of numbers that nothing is known of, with what they
// may be.
func (d *draft) supposable() (out []supposing) {
	within := elements(d.cols)
	for _, c := range d.cols {
		if c.field != "" || c.other != "" && c.other != "player" && c.other != "session" || d.uses(c) || within[c] || !c.numeric() || steps(c) ||
			epoch(c) != "" || same(c.values()) {
			continue
		}
		if _, told := d.answers[ToldField+c.Name]; told {
			continue
		}
		if _, cover := compound(plain(c.bare)); cover > 0 && slices.ContainsFunc(strings.Fields(plain(c.bare)), isNot) {
			continue // a distance to the pin: it says that it is none
		}
		s := supposing{col: c}
		for _, k := range asKnown {
			info, _ := event.FieldNamed(k.field)
			short := slices.ContainsFunc(k.words, func(w string) bool { return shortens(plain(c.bare), w) })
			if d.has(k.field) || len(c.units) > 0 && !unitOf(info.Quantity, c.units) || len(c.units) == 0 && !short {
				continue
			}
			s.fields = append(s.fields, &Field{Name: k.field, Column: c.Name, info: info, col: c, Unit: named1(info.Quantity, c.units),
				Sure: "asked", Why: "by how the shots go together", short: short})
		}
		if len(s.fields) > 0 {
			out = append(out, s)
		}
	}
	if len(out) > 8 {
		return nil
	}
	return out
}

func isNot(word string) bool {
	_, means := joined(word)
	return slices.Contains(means, "not") || slices.Contains(means, "target")
}

// same says that numbers do not differ.
func same(v []float64) bool {
	return len(v) < 3 || !slices.ContainsFunc(v, func(x float64) bool { return math.Abs(x-v[0]) > 1e-9 })
}

// shortens says whether a name holds letters of words, in their order, from the
// first letter of the first on: crry, cspd, sp.
func shortens(name, words string) bool {
	letters := strings.ReplaceAll(name, " ", "")
	if letters == "" || letters[0] != words[0] || len(letters) > len(words) {
		return false
	}
	at := 0
	for i := 0; i < len(words) && at < len(letters); i++ {
		if words[i] == letters[at] {
			at++
		}
	}
	return at == len(letters) && (len(letters) > 1 || len(words) < 7)
}

// fitted is the way of giving the columns fields by which the shots go together;
// nil where none does, or two do as well.
func (d *draft) fitted(list []supposing) []*Field {
	all := 0
	d.ways(list, nil, func([]*Field) bool { all++; return all <= mostSupposed })
	if all > mostSupposed {
		return nil
	}
	for len(list) > 0 {
		best, least, next := []*Field(nil), math.Inf(1), math.Inf(1)
		d.ways(list, nil, func(way []*Field) bool {
			c := d.strain(way)
			switch {
			case c < least:
				best, least, next = slices.Clone(way), c, least
			case c < next:
				next = c
			}
			return true
		})
		if best != nil && least < broken && (next-least > margin/2 || surer(best)) {
			return best
		}
		if best == nil && len(list) == 1 {
			return nil
		}
		// Without the column that fits least.
		worst, cost := 0, math.Inf(1)
		for i := range list {
			rest := slices.Delete(slices.Clone(list), i, i+1)
			d.ways(rest, nil, func(way []*Field) bool {
				if c := d.strain(way); c < cost {
					worst, cost = i, c
				}
				return true
			})
		}
		list = slices.Delete(slices.Clone(list), worst, worst+1)
	}
	return nil
}

// surer says that each name shortens words of its field: then two ways that fit
// alike are no doubt.
func surer(way []*Field) bool {
	return !slices.ContainsFunc(way, func(f *Field) bool { return !f.short })
}

// ways gives each way in which every column has a field of its own, until try has
// seen enough.
func (d *draft) ways(list []supposing, way []*Field, try func([]*Field) bool) bool {
	if len(list) == 0 {
		return try(way)
	}
	for _, f := range list[0].fields {
		if !slices.ContainsFunc(way, func(o *Field) bool { return o.Name == f.Name }) &&
			!d.ways(list[1:], append(slices.Clone(way), f), try) {
			return false
		}
	}
	return true
}

// strain is how badly the shots go together with more fields, in the units that
// suit them best; a name that does not shorten its field costs a little.
func (d *draft) strain(way []*Field) float64 {
	was := d.fields
	defer func() { d.fields = was }()
	d.fields = slices.Concat(was, way)
	odd := 0.0
	for _, f := range way {
		if !f.short {
			odd += .15
		}
		if len(f.col.units) > 0 {
			continue
		}
		f.Unit = d.unitLike(f)
	}
	return d.judge.Of(d.few(), d.putts).Cost + odd
}

// unitLike is the unit of fields alike, or the one that is usual.
func (d *draft) unitLike(f *Field) string {
	for _, o := range d.fields {
		if o != f && o.info.Quantity == f.info.Quantity && o.Unit != "" && o.Name != "apex" {
			return o.Unit
		}
	}
	return plausible.Units(f.info.Quantity)[0]
}
