package guess

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"fairlead/ingest/bay/sample"
)

// What stands among the shots of a file and is none of them: heartbeats, lines of
// a log, averages. A map names it by what it says, so that a kind which nobody
// saw yet is refused and shown, never dropped.

// rowRule is a rule of the map about rows.
type rowRule struct{ column, pattern string }

// numbered is the column that numbers the shots, where nearly all of its cells do.
func numbered(t *sample.Table) *sample.Column {
	for i := range t.Columns {
		c := &t.Columns[i]
		bare, _ := nameUnit(nonEmpty(c.Title, c.Name))
		if what, cover := match(bare, others); what != "shot" || cover < .8 {
			continue
		}
		figures, filled := 0, 0
		for _, cell := range c.Cells {
			if strings.TrimSpace(cell) != "" {
				filled++
			}
			if strings.ContainsAny(cell, "0123456789") {
				figures++
			}
		}
		if filled >= 4 && figures < filled && figures*4 >= filled*3 {
			return c
		}
	}
	return nil
}

// withoutMeans leaves out the rows whose number holds no figure: they speak of
// other rows, in whatever language.
func withoutMeans(t *sample.Table) (*sample.Table, []rowRule) {
	if t.Format != "csv" || t.Transposed || t.Long != nil {
		return t, nil
	}
	c := numbered(t)
	if c == nil {
		return t, nil
	}
	keep := make([]bool, t.Rows)
	for i := range keep {
		keep[i] = i >= len(c.Cells) || strings.ContainsAny(c.Cells[i], "0123456789")
	}
	return rowsOf(t, keep), []rowRule{{c.Name, `^\D+$`}}
}

// rowsOf is the table with some of its rows.
func rowsOf(t *sample.Table, keep []bool) *sample.Table {
	out := *t
	out.Columns, out.FileOf, out.Rows = slices.Clone(t.Columns), nil, 0
	for i := range out.Columns {
		var cells []string
		for k, cell := range t.Columns[i].Cells {
			if k >= len(keep) || keep[k] {
				cells = append(cells, cell)
			}
		}
		out.Columns[i].Cells = cells
	}
	for k, yes := range keep {
		if yes {
			out.Rows++
			if k < len(t.FileOf) {
				out.FileOf = append(out.FileOf, t.FileOf[k])
			}
		}
	}
	return &out
}

// foreign finds the rows that hold no measure at all, and the column that says
// so: kind, message, topic.
func (d *draft) foreign() (keep []bool, rule *rowRule) {
	keep = make([]bool, d.t.Rows)
	strange := 0
	for i := range keep {
		held := 0
		for _, f := range d.fields {
			if i < len(f.col.Cells) && strings.TrimSpace(f.col.Cells[i]) != "" {
				held++
			}
		}
		keep[i] = held > 0
		if held == 0 {
			strange++
		}
	}
	if strange == 0 || strange == d.t.Rows {
		return nil, nil
	}
	var best *column
	for _, c := range d.cols {
		if c.field != "" || len(c.texts) == 0 || c.count > len(c.texts)/2 {
			continue
		}
		ours, theirs := map[string]bool{}, map[string]bool{}
		for i, yes := range keep {
			if i >= len(c.Cells) {
				continue
			}
			if yes {
				ours[c.Cells[i]] = true
			} else {
				theirs[c.Cells[i]] = true
			}
		}
		apart := len(ours) <= 4 && len(theirs) <= 8 && !theirs[""] && !ours[""]
		for text := range theirs {
			apart = apart && !ours[text]
		}
		if apart && (best == nil || kindOf.MatchString(c.bare) && !kindOf.MatchString(best.bare)) {
			best = c
			var said []string
			for text := range theirs {
				said = append(said, regexp.QuoteMeta(text))
			}
			slices.Sort(said)
			rule = &rowRule{c.Name, "^(" + strings.Join(said, "|") + ")$"}
		}
	}
	return keep, rule
}

var kindOf = regexp.MustCompile(`(?i)type|kind|event|msg|message|topic|record|art`)

// rolling are the words for a putt among full swings.
var rolling = regexp.MustCompile(`(?i)^(putt?(s|e?ing|er|en)?|roll(s|ing)?|green|パット|パター|퍼트|퍼터|퍼팅|推杆|推桿)( stroke| shot)?$`)

// putting finds the column that tells putts from full swings, and what it says of
// them.
func (d *draft) putting() {
	for _, c := range d.cols {
		if c.field != "" || len(c.texts) == 0 || c.count == len(c.texts) {
			continue
		}
		rolls, other := map[string]bool{}, false
		for _, text := range c.texts {
			if rolling.MatchString(strings.TrimSpace(text)) {
				rolls[text] = true
			} else {
				other = true
			}
		}
		if len(rolls) == 0 || !other {
			continue
		}
		d.rolls, d.rollsBy = nil, c
		for text := range rolls {
			d.rolls = append(d.rolls, text)
		}
		slices.Sort(d.rolls)
		d.use(c)
		return
	}
}

// rolled says that a row is a putt among swings.
func (d *draft) rolled(row int) bool {
	return d.rollsBy != nil && row < len(d.rollsBy.Cells) && slices.Contains(d.rolls, d.rollsBy.Cells[row])
}

func (d *draft) roleText() string {
	if d.rollsBy == nil {
		return d.roleName
	}
	return "{column: " + d.name(d.rollsBy) + ", roll: " + quotedList(d.rolls) + ", else: " + d.roleName + "}"
}

// elements are the columns that are values of a list a record: points of a path,
// parts of a vector. Their names are the list's, so none says which it means.
func elements(cols []*column) map[*column]bool {
	byName := map[string]*column{}
	for _, c := range cols {
		byName[c.Name] = c
	}
	out, fields := map[*column]bool{}, map[string]bool{}
	for _, c := range cols {
		m := elementOf.FindStringSubmatch(c.Name)
		if m == nil {
			continue
		}
		n, err := strconv.Atoi(m[2])
		if err != nil {
			continue
		}
		near := n + 1
		if n > 0 {
			near = n - 1
		}
		if o := byName[m[1]+"."+strconv.Itoa(near)+m[3]]; o != nil && o.numeric() && c.numeric() {
			out[c] = true
			if f, _ := speaksOf(c.bare); f != "" {
				fields[f] = true
			}
		}
	}
	if len(fields) >= 3 { // a record of several shots, which is refused
		return nil
	}
	return out
}

var elementOf = regexp.MustCompile(`^(.+?)\.(\d+)((?:\..*)?)$`)

// steps says whether whole numbers without a unit grow by one from row to row: a
// count, whatever the column is called.
func steps(c *column) bool {
	v := c.values()
	if len(c.units) > 0 || len(v) < 4 || c.count < len(c.texts) {
		return false
	}
	for i := range v {
		if i > 0 && v[i]-v[i-1] != 1 || strings.Contains(c.texts[i], ".") {
			return false
		}
	}
	return true
}
