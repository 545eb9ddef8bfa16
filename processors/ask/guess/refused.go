package guess

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// SystemsError is a device whose numbers are in one system of units or another by
// row, as a column says.
type SystemsError struct{ Column string }

func (e *SystemsError) Error() string {
	return fmt.Sprintf("column %q says by row whether the numbers are metric or not, and a map reads one unit a column: set the device to "+
		"one system, or write a map for each, with keep_rows: [{column: %q, matches: ...}]", e.Column, e.Column)
}

// SeveralError is a record that holds several shots, of which a map would read
// the first alone.
type SeveralError struct{ Columns []string }

func (e *SeveralError) Error() string {
	return fmt.Sprintf("a record holds several values each of %s, and a map would read the first alone: have the device write a record "+
		"a shot, or name the list of shots as records in a map of format json", strings.Join(e.Columns, ", "))
}

var firstOfList = regexp.MustCompile(`^(.*)\.0(\..*)?$`)

// severalInOne refuses a draft whose measures are the first of lists of numbers:
// the others would be lost without a word.
func (d *draft) severalInOne() error {
	if d.t.Format == "csv" {
		return nil
	}
	var several []string
	for _, f := range d.fields {
		m := firstOfList.FindStringSubmatch(f.Column)
		if m == nil {
			continue
		}
		more := true
		for _, n := range []string{"1", "2"} {
			c := d.columnNamed(m[1] + "." + n + m[2])
			more = more && c != nil && c.numeric()
		}
		if more {
			several = append(several, m[1]+m[2])
		}
	}
	if len(several) < 3 {
		several = d.keyedBeside()
	}
	if len(several) < 3 {
		return nil
	}
	return &SeveralError{several}
}

// keyedBeside are the measures that the draft takes of one part of a record where
// two other parts hold numbers of the same names: shots that stand in one object
// under names of their own, as their times.
func (d *draft) keyedBeside() []string {
	leaves := map[string][]string{}
	for _, f := range d.fields {
		if at := strings.LastIndexByte(f.Column, '.'); at > 0 {
			leaves[f.Column[:at]] = append(leaves[f.Column[:at]], f.Column[at+1:])
		}
	}
	alike := map[string]map[string]int{} // numbers by what stands before their name, and it
	for _, c := range d.cols {
		if at := strings.LastIndexByte(c.Name, '.'); at > 0 && c.numeric() {
			if alike[c.Name[:at]] == nil {
				alike[c.Name[:at]] = map[string]int{}
			}
			alike[c.Name[:at]][c.Name[at+1:]]++
		}
	}
	for part, names := range leaves {
		if len(names) < 3 {
			continue
		}
		others := 0
		for other, has := range alike {
			if other != part && !slices.ContainsFunc(names, func(n string) bool { return has[n] == 0 }) {
				others++
			}
		}
		if others >= 2 {
			slices.Sort(names)
			return names
		}
	}
	return nil
}
