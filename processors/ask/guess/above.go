package guess

import (
	"regexp"
	"strconv"
	"strings"

	"fairlead/ingest/bay/sample"
)

// saying is a line above a table that says one thing of all shots below.
var saying = regexp.MustCompile(`^[\s"#*/;]*([\p{L}][\p{L} ._/-]{1,30}?)["\s]*[:=;,\t]\s*"?([^";,\t]{1,60}?)"?[\s;,]*$`)

// above adds what the lines above a table say as columns: the day, the session,
// the player. A map then has them as its preamble.
func above(t *sample.Table) {
	for _, d := range t.Above {
		if d.Name == aboveDay || d.Name == aboveSession || d.Name == abovePlayer {
			return // the table was looked at before
		}
	}
	names := map[string]string{"date": aboveDay, "session": aboveSession, "player": abovePlayer}
	for _, line := range t.Preamble {
		m := saying.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		what, cover := match(m[1], others)
		name := names[what]
		if name == "" || cover < .6 || what == "date" && !dateAlone(m[2]) || t.Format != "csv" {
			continue
		}
		delete(names, what)
		cells := make([]string, t.Rows)
		for i := range cells {
			cells[i] = strings.TrimSpace(m[2])
		}
		t.Columns = append(t.Columns, sample.Column{Name: name, Title: m[1], Cells: cells})
		t.Above = append(t.Above, sample.Drawn{Name: name, Pattern: `^[\s"#*/;]*` + regexp.QuoteMeta(m[1]) +
			`["\s]*[:=;,\t]\s*"?([^";,\t]+?)"?[\s;,]*$`})
	}
}

// What a preamble's columns are called in a drafted map.
const (
	aboveDay     = "Day above"
	aboveSession = "Session above"
	abovePlayer  = "Player above"
)

func dateAlone(text string) bool {
	l, _, _ := fitting([]string{strings.TrimSpace(text)}, dates, true)
	return l != nil && datelike.MatchString(text)
}

// drawn says whether a column is none of the table's own.
func (d *draft) drawn(name string) bool {
	for _, list := range [][]sample.Drawn{d.t.Above, d.t.Parts} {
		for _, x := range list {
			if x.Name == name {
				return true
			}
		}
	}
	return false
}

// writeDrawn writes the columns out of lines that are used.
func (d *draft) writeDrawn(line func(string, ...any)) {
	for key, list := range map[string][]sample.Drawn{"preamble": d.t.Above, "parts": d.t.Parts} {
		var parts []string
		for _, x := range list {
			if used := d.columnNamed(x.Name); used != nil && (d.uses(used) || used.field != "") {
				parts = append(parts, strconv.Quote(x.Name)+": "+strconv.Quote(x.Pattern))
			}
		}
		if parts != nil {
			line("%s: {%s}", key, strings.Join(parts, ", "))
		}
	}
	if c := d.columnNamed(abovePlayer); c != nil && d.uses(c) {
		line("settings: {player: {column: %s}}", strconv.Quote(abovePlayer))
	}
}

func (d *draft) columnNamed(name string) *column {
	for _, c := range d.cols {
		if c.Name == name {
			return c
		}
	}
	return nil
}
