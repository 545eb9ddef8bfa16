package guess

import (
	"regexp"
	"slices"
	"strings"
)

var callsUnit = regexp.MustCompile(`(?i)^(.*?)[ _.-]*(units?|uom|einheit|unité|unidad|unità|enhet|eenheid)$`)

// unitColumns finds columns of a table that hold nothing but units, and gives
// them to the column that they are called after, or else stand behind.
func unitColumns(cols []*column) {
	for i, o := range cols {
		if o.count > 0 || len(o.texts) == 0 || slices.ContainsFunc(o.texts, func(text string) bool { return !isUnit(text) }) {
			continue
		}
		var of *column
		if m := callsUnit.FindStringSubmatch(o.Name); m != nil && m[1] != "" {
			for _, c := range cols {
				if c != o && strings.EqualFold(plain(c.Name), plain(m[1])) {
					of = c
				}
			}
		}
		if of == nil && i > 0 && cols[i-1].numeric() {
			of = cols[i-1]
		}
		if of == nil || of.unitOf != "" || len(of.units) > 0 {
			continue
		}
		of.unitOf, of.unitCells = o.Name, o.Cells
		for _, text := range o.texts {
			if !slices.Contains(of.units, text) {
				of.units = append(of.units, text)
			}
		}
		of.mixed = len(of.units) > 1
		o.other = "unit"
	}
}

// rowSystems are how a row may say that its numbers are in one system or another.
var rowSystems = [2][]string{{"m", "metric", "si", "eu", "metrisch", "métrique"},
	{"i", "imperial", "us", "usa", "uk", "english", "imp", "impérial"}}

// twoSystems is the column that says by row in which system of units its numbers
// are; nil where none does, or all rows are of one.
func twoSystems(cols []*column) *column {
	for _, c := range cols {
		if c.count > 0 || len(c.texts) == 0 {
			continue
		}
		found := [2]bool{}
		for _, text := range c.texts {
			word := strings.ToLower(strings.TrimSpace(text))
			one, other := slices.Contains(rowSystems[0], word), slices.Contains(rowSystems[1], word)
			if !one && !other {
				found = [2]bool{}
				break
			}
			found = [2]bool{found[0] || one, found[1] || other}
		}
		if found[0] && found[1] {
			return c
		}
	}
	return nil
}
