package sample

import "regexp"

// Drawn is a column whose texts a pattern takes out of each line, or of what
// stands between the records; it has one group.
type Drawn struct{ Name, Pattern string }

// stamped are the ways in which a log puts the time before a record.
var stamped = []string{
	`^(\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d[^\s,;]*)`,
	`^\[([^\]]*\d:\d\d[^\]]*)\]`,
	`^(\d{4}/\d\d/\d\d \d\d:\d\d:\d\d[.\d]*)`,
	`^(\d\d\.\d\d\.\d{4} \d\d:\d\d:\d\d[.,\d]*)`,
	`^([A-Z][a-z]{2},? [A-Z0-9][a-z0-9]+ [A-Za-z0-9]+ \d\d:\d\d:\d\d \d{4})`,
}

// times finds how each of the lines begins with a time; "" where not all do.
func times(lines []string) (pattern string, found []string) {
	for _, p := range stamped {
		re := regexp.MustCompile(p)
		found = nil
		for _, line := range lines {
			if m := re.FindStringSubmatch(line); m != nil {
				found = append(found, m[1])
			}
		}
		if len(lines) > 0 && len(found) == len(lines) {
			return p, found
		}
	}
	return "", nil
}

// timed adds the time that stands before each record as a column.
func (t *Table) timed(lines []string) (drawn []Drawn) {
	pattern, found := times(lines)
	if pattern == "" || len(found) != t.Rows {
		return nil
	}
	t.Columns = append(t.Columns, Column{Name: "Logged at", Title: "timestamp", Cells: found})
	return []Drawn{{"Logged at", pattern}}
}
