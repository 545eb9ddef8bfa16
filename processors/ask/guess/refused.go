package guess

import (
	"fmt"
	"regexp"
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
		return nil
	}
	return &SeveralError{several}
}
