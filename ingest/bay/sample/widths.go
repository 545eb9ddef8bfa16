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

// said is what stands between two places of a line.
func said(line []rune, from, to int) string {
	from, to = min(from, len(line)), min(to, len(line))
	return strings.TrimSpace(string(line[from:to]))
}
