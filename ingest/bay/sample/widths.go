package sample

import (
	"slices"
	"strings"
)

// apart adds to where columns begin those places behind a single blank that part
// two columns: the first row has a name there, and most rows a cell on both
// sides. Words of one name, or a date and a time under one name, have not.
func apart(table [][]rune, wide, narrow []int) []int {
	starts := slices.Clone(wide)
	for i, at := range narrow {
		if slices.Contains(wide, at) || i == 0 {
			continue
		}
		end := len(table[0]) + 1<<10
		if i+1 < len(narrow) {
			end = narrow[i+1]
		}
		if said(table[0], at, end) == "" {
			continue
		}
		both := 0
		for _, r := range table[1:] {
			if said(r, narrow[i-1], at) != "" && said(r, at, end) != "" {
				both++
			}
		}
		if 2*both > len(table)-1 {
			starts = append(starts, at)
		}
	}
	slices.Sort(starts)
	return starts
}

// ruledWidths are the widths that a line of rules draws below the names, where
// most rows keep to them.
func ruledWidths(lines []string, kept func(string) bool) (out []int) {
	var starts []int
	for _, line := range lines {
		if !ruler.MatchString(line) || strings.ContainsAny(line, "|+") || len(strings.Fields(line)) < 3 {
			continue
		}
		for i, r := range []rune(line) {
			if r != ' ' && (i == 0 || []rune(line)[i-1] == ' ') {
				starts = append(starts, i)
			}
		}
		break
	}
	if len(starts) < 3 {
		return nil
	}
	keeping, rows := 0, 0
	for _, line := range lines {
		if r := []rune(line); kept(line) && len(r) > starts[len(starts)-1] {
			rows++
			if !slices.ContainsFunc(starts[1:], func(at int) bool { return r[at-1] != ' ' }) {
				keeping++
			}
		}
	}
	if rows == 0 || keeping*10 < rows*9 {
		return nil
	}
	for i := range starts {
		from, to := starts[i], starts[len(starts)-1]+1<<9
		if i == 0 {
			from = 0
		}
		if i+1 < len(starts) {
			to = starts[i+1]
		}
		out = append(out, min(to-from, 200))
	}
	return out
}

// said is what stands between two places of a line.
func said(line []rune, from, to int) string {
	from, to = min(from, len(line)), min(to, len(line))
	return strings.TrimSpace(string(line[from:to]))
}
