package guess

import (
	"math"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/plausible"
)

// Field is a proposal for one measure.
type Field struct {
	Name     string
	Column   string
	Unit     string
	Sign     string // handed, or empty
	Invert   bool
	Positive []string
	Negative []string
	Missing  []string // marks of this field alone
	Round    bool     // a bearing from the target line, up to 360
	Zero     bool     // a zero means: not measured
	Sure     string   // how sure, in words
	Why      string

	info  event.FieldInfo
	col   *column
	sided *column // names the side; nil: none does. Columns of an aligned table may share a name
	near  float64 // of a field supposed for a column: how much its name looks like it
}

// mostTempo is the largest ratio of a backswing's time to a downswing's that anybody
// swings with. In many languages tempo is a time.
const mostTempo = 5

// fieldsOf takes the columns that are measures, one for each field.
func fieldsOf(cols []*column) (out []*Field) {
	var twice []string
	within, common := elements(cols), common(cols)
	for _, c := range cols {
		if c.Name == aboveDay || c.Name == aboveSession || c.Name == abovePlayer {
			c.other, _ = match(c.bare, others)
			continue
		}
		c.field, c.cover = speaksOf(c.bare)
		other, otherCover := match(c.bare, others)
		c.other = other
		if !c.numeric() || epoch(c) != "" || within[c] {
			c.field = ""
			continue
		}
		if steps(c) && c.field != "" {
			c.field, c.other = "", "shot"
			continue
		}
		if other == "shot" && (otherCover > c.cover || c.field == "ball_speed" && c.units == nil && counts(c)) ||
			(other == "revision" || other == "time" || other == "date" || other == "session") && otherCover > c.cover ||
			otherCover >= .9 && c.cover < .9 && other != "club" && other != "shot" {
			c.field = ""
			continue
		}
		if strings.HasPrefix(c.field, "strike") && c.units == nil && len(c.letters) == 0 && strings.Contains(plain(c.bare), "impact") {
			c.field = "" // of the face, or of the ground: only a carry beside it tells
			if at := strings.LastIndexByte(c.Name, '.'); at > 0 && slices.ContainsFunc(cols, func(o *column) bool {
				f, _ := speaksOf(o.bare)
				return strings.HasPrefix(o.Name, c.Name[:at+1]) && (f == "carry" || f == "total")
			}) {
				c.field = "offline"
			}
		}
		if strings.HasPrefix(c.field, "air_") && c.cover < .75 {
			c.field = "" // of the air, not of a processor or a battery: no shot would show the difference
			continue
		}
		if c.field == "clubhead_speed" && c.units == nil && plain(c.bare) == "club" && counts(c) {
			c.field, c.other = "", "club"
		}
		if c.field == "" {
			continue
		}
		if ambiguous(plain(c.bare)) || c.field == "tempo" && slices.ContainsFunc(c.values(), func(v float64) bool { return v > mostTempo }) {
			c.field, c.other = "", ""
			continue
		}
		if field := c.bySides(); field != c.field || !c.understood(common) {
			c.like, c.field, c.other = field, "", "" // asked
			continue
		}
		c.other = ""
		info, _ := event.FieldNamed(c.field)
		if len(c.units) > 0 && !unitOf(info.Quantity, c.units) {
			if f := byUnit(c, info); f != "" {
				c.field = f
				info, _ = event.FieldNamed(f)
			} else {
				c.field = ""
				continue
			}
		}
		f := &Field{Name: c.field, Column: c.Name, info: info, col: c, Unit: named1(info.Quantity, c.units)}
		if i := slices.IndexFunc(out, func(o *Field) bool { return o.Name == f.Name }); i >= 0 {
			if c.Title == "" && c.Name != "" && strings.EqualFold(c.Name, out[i].col.Name) {
				c.field, out[i].col.field = "", "" // two of one name: nothing says which is meant
				twice = append(twice, f.Name)
				continue
			}
			if c.cover > out[i].col.cover {
				out[i].col.field = ""
				out[i] = f
			} else {
				c.field = ""
			}
			continue
		}
		f.impossible()
		f.round()
		out = append(out, f)
	}
	return slices.DeleteFunc(out, func(f *Field) bool { return slices.Contains(twice, f.Name) })
}

// bySides is the field that a column's name says, or the one near it that has
// sides where the cells say them: a spin to the left is a side spin. It is none
// where nothing near has them.
func (c *column) bySides() string {
	info, _ := event.FieldNamed(c.field)
	if info.Mirrors || strings.HasPrefix(c.field, "strike") || c.field == "attack_angle" || c.field == "launch_angle" {
		return c.field
	}
	below := map[float64]bool{} // of one alone, a mark: see impossible
	for _, v := range c.values() {
		if v < 0 && info.Min >= 0 {
			below[v] = true
		}
	}
	if c.sided()*2 < c.count && len(below)*5 < c.count {
		return c.field
	}
	return map[string]string{"spin_rate": "side_spin", "back_spin": "side_spin", "carry": "offline", "total": "total_offline",
		"landing_angle": "launch_direction"}[c.field]
}

// impossible takes a value that comes again and that no shot has, such as -1 for a
// spin, for a mark of what was not measured.
func (f *Field) impossible() {
	if f.info.Min < 0 {
		return
	}
	var mark string
	for i, v := range f.col.numbers {
		if !(v < 0) {
			continue
		}
		text := strings.TrimSpace(f.col.Cells[i])
		if mark != "" && mark != text {
			return
		}
		mark = text
	}
	if mark == "" || negative(f.col.values()) > len(f.col.values())*6/10 {
		return
	}
	for i, v := range f.col.numbers {
		if v < 0 {
			f.col.numbers[i] = math.NaN()
			f.col.count--
		}
	}
	f.Missing = []string{mark}
}

// round takes an angle to the side that goes round for a bearing from the target
// line: 359 is one degree left of it.
func (f *Field) round() {
	if !f.info.Mirrors || f.info.Quantity != unit.Angle || f.Unit != "deg" && f.Unit != "" {
		return
	}
	left, values := 0, f.col.values()
	for _, v := range values {
		switch {
		case v < 0 || v > 360 || v > f.info.Max && v < 360+f.info.Min:
			return
		case v > 180:
			left++
		}
	}
	if left == 0 {
		return
	}
	f.Round, f.Unit = true, "deg"
	for i, v := range f.col.numbers {
		if v > 180 {
			f.col.numbers[i] = v - 360
		}
	}
}

// negative counts the values below zero.
func negative(values []float64) (n int) {
	for _, v := range values {
		if v < 0 {
			n++
		}
	}
	return n
}

// counts says whether a column's values count shots: whole numbers that grow by one.
func counts(c *column) bool {
	v := c.values()
	steps := 0
	for i := range v {
		if v[i] != math.Trunc(v[i]) {
			return false
		}
		if i > 0 && (v[i]-v[i-1] == 1 || v[i] == v[i-1] || v[i] <= 2) {
			steps++
		}
	}
	return len(v) > 0 && steps*10 >= (len(v)-1)*7
}

// unitOf says whether one of the spellings is a unit of q.
func unitOf(q unit.Quantity, units []string) bool {
	return slices.ContainsFunc(units, func(u string) bool { _, ok := unit.Named(q, u); return ok })
}

// named1 is the first of the spellings that is a unit of q, by its short name.
func named1(q unit.Quantity, units []string) string {
	for _, u := range units {
		if short, ok := unit.Named(q, u); ok && short != "" {
			if q == unit.Ratio && short == "1" {
				return ""
			}
			return short
		}
	}
	return ""
}

// byUnit finds another field for a name whose unit is of another quantity: a
// launch in degrees beside one in mph.
func byUnit(c *column, was event.FieldInfo) string {
	near := map[string][]string{
		"launch_angle": {"ball_speed", "launch_direction"}, "spin_rate": {"spin_axis"}, "ball_speed": {"launch_angle", "spin_rate"},
		"offline": {"launch_direction", "side_spin"}, "launch_direction": {"offline"}, "landing_angle": {"landing_speed"},
		"landing_speed": {"landing_angle"},
		"carry":         {"hang_time"}, "hang_time": {"carry"}, "apex": {"hang_time"}, "clubhead_speed": {"club_path"},
		"side_spin": {"launch_direction"},
	}
	for _, name := range near[was.Name] {
		if info, ok := event.FieldNamed(name); ok && named1(info.Quantity, c.units) != "" {
			return name
		}
	}
	return ""
}

// shots reads the rows with the units and signs that the fields have now, but
// those that are something besides.
func shots(fields []*Field, rows int, besides func(row int) bool) plausible.Shots {
	out := make(plausible.Shots, 0, rows)
	for i := range rows {
		if besides(i) {
			continue
		}
		s := plausible.Shot{}
		for _, f := range fields {
			if i >= len(f.col.numbers) {
				continue
			}
			v := f.col.numbers[i]
			if math.IsNaN(v) || v == 0 && f.Zero {
				continue
			}
			u := f.Unit
			if f.col.mixed && i < len(f.col.unitCells) && f.col.unitCells[i] != "" {
				u = f.col.unitCells[i]
			}
			conv, err := unit.Lookup(f.info.Quantity, u)
			if err != nil {
				continue
			}
			v = conv.To(v) * f.side(i)
			if f.Invert {
				v = -v
			}
			s[f.Name] = v
		}
		if len(s) > 0 {
			out = append(out, s)
		}
	}
	return out
}

// side is the sign that letters give to a row's value.
func (f *Field) side(row int) float64 {
	if f.Positive == nil {
		return 1
	}
	cell := strings.ToLower(f.col.Cells[row])
	words := strings.FieldsFunc(cell, func(r rune) bool { return r == ' ' || r >= '0' && r <= '9' || r == '.' || r == ',' || r == '°' })
	for _, w := range words {
		if slices.ContainsFunc(f.Negative, func(n string) bool { return strings.EqualFold(n, w) }) {
			return -1
		}
	}
	return 1
}
