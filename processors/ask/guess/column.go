package guess

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/bay/sample"
	"fairlead/ingest/contract/unit"
)

// column is one of the table, with what its texts show.
type column struct {
	*sample.Column
	index   int       // its place in the table, from 1
	bare    string    // the name without its unit
	units   []string  // that the name, a row of units or the cells give
	texts   []string  // cells that are not empty
	numbers []float64 // of the cells that hold one, in order of rows; NaN else
	count   int       // cells with a number
	missing []string  // texts that say: not measured
	letters map[string]int
	field   string
	like    string // the field that a name speaks of which is not understood whole
	cover   float64
	other   string // what it is when no measure
	unitOf  string // column that names its unit
	mixed   bool   // differently from row to row
	// Of a table, the texts of the column that names the unit.
	unitCells []string
	parts     float64 // of a unit: 10 where tenths are counted; 0: whole ones
	first     string  // pattern of the first of two values that a cell holds
}

var bracket = regexp.MustCompile(`[\[({]\s*([^\])}]*?)\s*[\])}]`)

// nameUnit takes a unit off a column's name: in brackets, or as its last word.
func nameUnit(name string) (bare string, units []string) {
	bare = name
	for _, m := range bracket.FindAllStringSubmatch(name, -1) {
		if isUnit(m[1]) {
			units = append(units, m[1])
			bare = strings.Replace(bare, m[0], " ", 1)
		}
	}
	if units != nil {
		return strings.TrimSpace(bare), units
	}
	words := strings.FieldsFunc(bare, func(r rune) bool { return r == ' ' || r == '_' || r == '-' || r == '.' || r == ',' || r == ':' })
	for n := min(3, len(words)-1); n > 0; n-- {
		tail := strings.Join(words[len(words)-n:], " ")
		slashed := strings.Join(words[len(words)-n:], "/")
		for _, u := range []string{tail, slashed, strings.ReplaceAll(slashed, "/", ""), slashless[strings.ToLower(tail)]} {
			if isUnit(u) && len(u) > 0 && !(len(u) == 1 && !strings.ContainsAny(u, "m°s%")) {
				rest := words[:len(words)-n]
				if last := len(rest) - 1; last > 0 && strings.EqualFold(rest[last], "in") {
					rest = rest[:last] // carry in m
				}
				return strings.TrimSpace(strings.Join(rest, " ")), []string{u}
			}
		}
	}
	if camel := camelUnit.FindStringSubmatch(bare); camel != nil {
		return camel[1], []string{camel[2]}
	}
	return bare, nil
}

// slashless are units as names write them that can hold no slash.
var slashless = map[string]string{"mih": "mi/h", "kmhr": "km/h", "msec": "ms", "radsec": "rad/s", "revmin": "rpm", "ftsec": "ft/s"}

var camelUnit = regexp.MustCompile(`^(.*[a-z])(Mph|MPH|Kmh|KMH|Kph|Mps|Fps|Kn|Yds|Yd|Deg|Rpm|RPM|Ft|Cm|Mm|Ms|Rad)$`)

var measured = []unit.Quantity{unit.Speed, unit.Length, unit.Angle, unit.Rotation, unit.Time, unit.Ratio, unit.Temperature, unit.Pressure}

func isUnit(s string) bool {
	s = strings.TrimSpace(s)
	if s == "" || s == "1" || strings.EqualFold(s, "ratio") || strings.EqualFold(s, "x") || strings.EqualFold(s, "k") {
		return false
	}
	return slices.ContainsFunc(measured, func(q unit.Quantity) bool { _, ok := unit.Named(q, s); return ok })
}

// style is how numbers are written.
type style struct {
	decimal, thousands rune
	negative           string // as maps name it; "": by a sign before
	unsure             bool   // a sign may stand before three decimals, or between thousands
}

var (
	numberIn  = regexp.MustCompile(`[-+−]?\d[\d.,'’ \x{00a0}\x{202f}]*(?:[eE][-+]?\d+)?`)
	datelike  = regexp.MustCompile(`\d+[-/.]\d+[-/.]\d+|\d+:\d\d`)
	threeTail = regexp.MustCompile(`^[-+−]?[1-9]\d{0,2}([.,'’ ])\d{3}$`)
	manyTail  = regexp.MustCompile(`^[-+−]?[1-9]\d{0,2}(?:([.,'’ ])\d{3}){2,}$`)
	decimals  = regexp.MustCompile(`^[-+−]?\d+([.,])(\d+)(?:[eE][-+]?\d+)?$`)
	both      = regexp.MustCompile(`^[-+−]?\d{1,3}(?:([.,'’ ])\d{3})+([.,])\d+$`)
)

// plainBlanks writes every blank that may stand between thousands as one.
var plainBlanks = strings.NewReplacer("\u00a0", " ", "\u202f", " ", "\u2009", " ")

// numberStyle finds the decimal sign and what stands between thousands.
func numberStyle(t *sample.Table) style {
	points, commas := 0, 0
	groups := map[rune]int{}
	for _, c := range t.Columns {
		for _, cell := range c.Cells {
			if datelike.MatchString(cell) {
				continue
			}
			n := plainBlanks.Replace(strings.TrimSpace(numberIn.FindString(cell)))
			switch {
			case both.MatchString(n):
				m := both.FindStringSubmatch(n)
				groups[[]rune(m[1])[0]]++
				points, commas = count(points, m[2] == "."), count(commas, m[2] == ",")
			case manyTail.MatchString(n):
				groups[[]rune(manyTail.FindStringSubmatch(n)[1])[0]]++
			case threeTail.MatchString(n):
				groups[[]rune(threeTail.FindStringSubmatch(n)[1])[0]]++
			case decimals.MatchString(n):
				m := decimals.FindStringSubmatch(n)
				points, commas = count(points, m[1] == "."), count(commas, m[1] == ",")
			}
		}
	}
	s := style{decimal: '.', negative: negatives(t)}
	if commas > points {
		s.decimal = ','
	}
	for _, g := range []rune{'\'', '’', ' ', ' ', '.', ','} {
		if g == s.decimal || groups[g] == 0 {
			continue
		}
		if (g == '.' || g == ',') && points+commas == 0 {
			s.unsure = true
		}
		if g == ' ' {
			g = ' '
		}
		s.thousands = g
		break
	}
	if points+commas == 0 && groups['.'] > 0 && groups[','] == 0 {
		s.decimal, s.thousands, s.unsure = '.', 0, true
	}
	return s
}

var (
	inParentheses = regexp.MustCompile(`^\(\s*\d[\d.,]*\s*[^\d()]{0,12}\)`)
	minusBehind   = regexp.MustCompile(`^\d[\d.,]*[-−](?:\s*[^\d\s].*)?$`)
	minusBefore   = regexp.MustCompile(`^[-−]\s*\d`)
)

// negatives finds how negative numbers are written beside the usual way.
func negatives(t *sample.Table) string {
	parentheses, behind, before := 0, 0, 0
	for _, c := range t.Columns {
		for _, cell := range c.Cells {
			switch {
			case minusBefore.MatchString(cell):
				before++
			case inParentheses.MatchString(cell):
				parentheses++
			case minusBehind.MatchString(cell):
				behind++
			}
		}
	}
	switch {
	case parentheses > 0 && behind == 0:
		return "parentheses"
	case behind > 0 && parentheses == 0 && before == 0:
		return "behind"
	}
	return ""
}

// twice is a cell that says one value in two units: 118 mph / 190 km/h.
var twice = regexp.MustCompile(`^\s*([-+−]?\d[\d.,]*\s*([^\d\s/(|]+))\s*[/(|]\s*[-+−]?\d[\d.,]*\s*([^\d\s].*?)\s*\)?$`)

// counted is a name that says by how much its values are multiplied: speed_x10.
var counted = regexp.MustCompile(`(?i)^(.*[\p{L})])[ _(]*[x*×]\s?(10|100|1000)\)?$`)

// guarded are cells that a spreadsheet is kept from changing, or that say how sure
// they are: what of them is the value.
var guarded = []struct {
	cell    *regexp.Regexp
	pattern string
}{
	{regexp.MustCompile(`^="?([^"]*)"?$`), `^="?([^"]*)`},
	{regexp.MustCompile(`^\s*([-+−]?\d[\d.,]*)\s*(?:±|\+/-|\+-|\(±)\s*\d.*$`), `^\s*([-+−]?[\d.,]+)`},
}

// valueAlone leaves the value of each cell that has more beside it.
func (c *column) valueAlone() {
	first := slices.IndexFunc(c.Cells, func(cell string) bool { return strings.ContainsAny(cell, "0123456789") })
	if first < 0 || !strings.ContainsAny(c.Cells[first], "=±") && !strings.Contains(c.Cells[first][1:], "+") {
		return
	}
	for _, g := range guarded {
		n, filled := 0, 0
		for _, cell := range c.Cells {
			if strings.ContainsAny(cell, "0123456789") {
				filled++
				if g.cell.MatchString(cell) {
					n++
				}
			}
		}
		if n < 2 || n*10 < filled*8 {
			continue
		}
		c.first = g.pattern
		own := *c.Column
		own.Cells = make([]string, len(c.Cells))
		for i, cell := range c.Cells {
			own.Cells[i] = cell
			if m := g.cell.FindStringSubmatch(cell); m != nil {
				own.Cells[i] = m[1]
			}
		}
		c.Column = &own
		return
	}
}

// firstOfTwo leaves the first of two values in each cell.
func (c *column) firstOfTwo() {
	n, filled := 0, 0
	for _, cell := range c.Cells {
		if strings.ContainsAny(cell, "0123456789") {
			filled++
			if m := twice.FindStringSubmatch(cell); m != nil && isUnit(m[2]) && isUnit(m[3]) {
				n++
			}
		}
	}
	if n < 2 || n*10 < filled*8 {
		return
	}
	c.first = `^([^/(|]+)`
	own := *c.Column
	own.Cells = make([]string, len(c.Cells))
	for i, cell := range c.Cells {
		own.Cells[i] = cell
		if m := twice.FindStringSubmatch(cell); m != nil {
			own.Cells[i] = m[1]
		}
	}
	c.Column = &own
}

func count(n int, more bool) int {
	if more {
		return n + 1
	}
	return n
}

// number reads what a cell says: the number and the words around it.
func (s style) number(cell string) (v float64, before, after string, ok bool) {
	at := numberIn.FindStringIndex(cell)
	if at == nil {
		return 0, "", "", false
	}
	text := strings.TrimRight(cell[at[0]:at[1]], " \u00a0\u202f,.'’")
	before, after = strings.TrimSpace(cell[:at[0]]), strings.TrimSpace(cell[at[0]+len(text):])
	clean := strings.NewReplacer("−", "-", "\u00a0", " ", "\u202f", " ").Replace(text)
	if s.thousands != 0 {
		clean = strings.ReplaceAll(clean, string(s.thousands), "")
	}
	if s.decimal == ',' {
		clean = strings.ReplaceAll(clean, ",", ".")
	}
	clean = strings.ReplaceAll(clean, " ", "")
	v, err := strconv.ParseFloat(clean, 64)
	switch within, rest, closed := strings.Cut(after, ")"); {
	case s.negative == "parentheses" && closed && before == "(": // the unit stands within or behind
		v, before, after = -v, "", strings.TrimSpace(within+" "+rest)
	case s.negative == "behind" && (strings.HasPrefix(after, "-") || strings.HasPrefix(after, "−")):
		v, after = -v, strings.TrimSpace(strings.TrimLeft(after, "-−"))
	}
	return v, before, after, err == nil
}

// sideSaid is what a name says of the side that is positive, behind the unit: [L+],
// (+ = left). It is no word of the name.
var sideSaid = regexp.MustCompile(`(?i)\s*[\[({]\s*(?:[lr]\s*[=:]?\s*[+-]|[+-]\s*[=:]?\s*[lr]|[+-]\s*[=:]?\s*(?:left|right)|` +
	`(?:left|right)\s*[=:]?\s*(?:is\s*)?(?:[+-]|pos\w*|neg\w*))\s*[\])}]\s*$`)

// columns reads the table's columns.
func columns(t *sample.Table, s style) []*column {
	var out []*column
	for i := range t.Columns {
		c := &column{Column: &t.Columns[i], index: i + 1, letters: map[string]int{}}
		name := strings.ReplaceAll(c.Name, "\n", " ")
		if c.Title != "" {
			name = strings.ReplaceAll(c.Title, "\n", " ")
		}
		if t.Format != "csv" && t.Format != "keys" {
			name = strings.ReplaceAll(name, ".", " ")
		}
		if m := counted.FindStringSubmatch(name); m != nil {
			c.parts, _ = strconv.ParseFloat(m[2], 64)
			name = m[1]
		}
		name = sideSaid.ReplaceAllString(name, "")
		var own []string
		if bare, u, of := factored(name); of != 0 {
			c.bare, c.units, c.parts = bare, []string{u}, of
		} else if c.bare, own = nameUnit(name); own != nil {
			c.units = append(c.units, own...)
		}
		c.beside(t)
		if c.Unit != "" && isUnit(c.Unit) {
			c.units = append(c.units, c.Unit)
		}
		c.firstOfTwo()
		c.valueAlone()
		c.read(s)
		out = append(out, c)
	}
	if t.Format == "csv" {
		unitColumns(out)
	}
	return out
}

var valueOf = regexp.MustCompile(`(?i)^(.+)([. ])(text|value|val|v|amount|magnitude)$`)

// beside takes the unit of a value that stands in an object or an element of its
// own beside it: {"value": 12, "unit": "mph"}.
func (c *column) beside(t *sample.Table) {
	m := valueOf.FindStringSubmatch(c.Name)
	if m == nil || t.Format == "csv" {
		return
	}
	c.bare, _ = nameUnit(strings.ReplaceAll(m[1], ".", " "))
	for i := range t.Columns {
		o := &t.Columns[i]
		rest, ok := strings.CutPrefix(o.Name, m[1]+".")
		if !ok || !slices.Contains([]string{"unit", "units", "uom", "u"}, strings.ToLower(rest)) {
			continue
		}
		for _, cell := range o.Cells {
			if cell == "" {
				continue
			}
			if c.unitOf == "" && isUnit(cell) {
				c.unitOf = o.Name
				c.units = append(c.units, cell)
			} else if c.unitOf != "" && cell != c.units[len(c.units)-1] {
				c.mixed = true
			}
		}
	}
}

// read looks at the cells.
func (c *column) read(s style) {
	words, said := map[string]int{}, map[string]int{}
	for _, cell := range c.Cells {
		v := math.NaN()
		cell = strings.TrimSpace(cell)
		if cell != "" {
			c.texts = append(c.texts, cell)
		}
		if plain := feed.DegreesAndMinutes(cell); plain != cell {
			cell = strings.Replace(plain, ".", string(s.decimal), 1)
		}
		n, before, after, ok := s.number(cell)
		if c.parts != 0 {
			n /= c.parts
		}
		switch {
		case cell == "":
		case feetInches.MatchString(cell):
			m := feetInches.FindStringSubmatch(cell)
			feet, _ := strconv.ParseFloat(m[1], 64)
			inches, _ := strconv.ParseFloat(m[2], 64) // the pattern takes digits alone
			v = feet + inches/12
			c.count++
			said["ft"]++
		case !ok:
			words[cell]++
		case datelike.MatchString(cell):
			words[cell]++
		default:
			v = n
			c.count++
			for _, w := range append([]string{before}, apart(after)...) {
				if w = strings.Trim(w, " .()"); w == "" {
					continue
				}
				if isUnit(w) && !sideLetter(w) && w != "S" {
					said[w]++
				} else {
					c.letters[w]++
				}
			}
		}
		c.numbers = append(c.numbers, v)
	}
	if c.count*2 >= len(c.texts) && c.count > 0 {
		for w := range words {
			c.missing = append(c.missing, w)
		}
		slices.Sort(c.missing)
	}
	for w, n := range said { // one odd cell says nothing of the column
		if n*10 >= c.count*4 && !slices.Contains(c.units, w) {
			c.units = append(c.units, w)
		}
	}
	c.sentinels()
}

// apart takes a unit and a side that stand behind a number apart.
func apart(after string) []string {
	words := strings.Fields(after)
	if len(words) < 2 || isUnit(after) || sideWords[strings.ToLower(after)] != (sideWord{}) {
		return []string{after}
	}
	return words
}

var feetInches = regexp.MustCompile(`^(\d+)\s*['′]\s*(\d+(?:\.\d+)?)\s*(?:"|″|'')?$`)

func sideLetter(w string) bool {
	_, known := sideWords[strings.ToLower(w)]
	return known && len(w) <= 2
}

// sentinels are numbers that stand for 'not measured'.
func (c *column) sentinels() {
	for i, v := range c.numbers {
		a := math.Abs(v)
		if a == 999 || a == 9999 || a == 99999 || a == 999.9 || a == 999.99 || a == 9999.9 || a == 32767 || a == 65535 || v == -999.0 ||
			v == -99 {
			rest := 0
			for _, o := range c.numbers {
				if !math.IsNaN(o) && math.Abs(o) >= .8*a && o != v {
					rest++
				}
			}
			if rest > 0 {
				continue
			}
			text := strings.TrimSpace(c.Cells[i])
			if !slices.Contains(c.missing, text) {
				c.missing = append(c.missing, text)
			}
			c.numbers[i] = math.NaN()
			c.count--
		}
	}
}

// values are the column's numbers.
func (c *column) values() (out []float64) {
	for _, v := range c.numbers {
		if !math.IsNaN(v) {
			out = append(out, v)
		}
	}
	return out
}

// numeric says whether a column is of numbers.
func (c *column) numeric() bool {
	return c.count > 0 && c.count*2 >= len(c.texts)-words(c.missing, c.Cells)
}

func words(missing, cells []string) (n int) {
	for _, cell := range cells {
		if slices.Contains(missing, strings.TrimSpace(cell)) {
			n++
		}
	}
	return n
}
