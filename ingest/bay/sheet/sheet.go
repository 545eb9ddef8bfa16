// Package sheet makes of tables that are written another way, and of
// spreadsheets, a table with a row for each shot.
package sheet

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// Turn turns a table round: its columns become rows. Short rows are filled up.
func Turn(rows [][]string) [][]string {
	width := 0
	for _, r := range rows {
		width = max(width, len(r))
	}
	out := make([][]string, width)
	for i := range out {
		out[i] = make([]string, len(rows))
		for k, r := range rows {
			if i < len(r) {
				out[i][k] = r[i]
			}
		}
	}
	return out
}

// Long says where in a long table, a row for each value, what stands.
type Long struct{ Name, Value, Unit string } // columns; Unit may be empty

// Gather makes one row of all rows of a long table that follow each other with
// the same text in every other column; a name that comes again begins the next.
// The header has the other columns, then the names in want, then what else the
// table names. A unit goes behind its number.
func (l Long) Gather(rows [][]string, want []string) ([][]string, error) {
	if len(rows) == 0 {
		return nil, nil
	}
	at := map[string]int{}
	for i, h := range rows[0] {
		at[fold(h)] = i
	}
	name, okName := at[fold(l.Name)]
	value, okValue := at[fold(l.Value)]
	unit, okUnit := at[fold(l.Unit)]
	if !okName || !okValue || l.Unit != "" && !okUnit {
		return nil, fmt.Errorf("the first row has no column %s: its columns are %s", l.missing(okName, okValue), strings.Join(rows[0], ", "))
	}
	var own []int
	for i := range rows[0] {
		if i != name && i != value && (l.Unit == "" || i != unit) {
			own = append(own, i)
		}
	}
	var head []string
	for _, i := range own {
		head = append(head, rows[0][i])
	}
	place := map[string]int{}
	column := func(n string) int {
		if p, ok := place[fold(n)]; ok {
			return p
		}
		head = append(head, n)
		place[fold(n)] = len(head) - 1
		return len(head) - 1
	}
	for _, n := range want {
		if !slices.ContainsFunc(rows[0], func(h string) bool { return fold(h) == fold(n) }) {
			column(n)
		}
	}
	out := [][]string{nil}
	var row []string
	for _, r := range rows[1:] {
		get := func(i int) string {
			if i < len(r) {
				return r[i]
			}
			return ""
		}
		if strings.TrimSpace(get(name)) == "" {
			continue
		}
		p := column(get(name))
		same := row != nil && (p >= len(row) || row[p] == "")
		for k, i := range own {
			same = same && row[k] == get(i)
		}
		if !same {
			if row != nil {
				out = append(out, row)
			}
			row = make([]string, len(own), len(head))
			for k, i := range own {
				row[k] = get(i)
			}
		}
		for len(row) <= p {
			row = append(row, "")
		}
		row[p] = get(value)
		if l.Unit != "" {
			row[p] = withUnit(row[p], get(unit))
		}
	}
	if row != nil {
		out = append(out, row)
	}
	out[0] = head
	for i := range out {
		for len(out[i]) < len(head) {
			out[i] = append(out[i], "")
		}
	}
	return out, nil
}

func (l Long) missing(name, value bool) string {
	switch {
	case !name:
		return l.Name
	case !value:
		return l.Value
	}
	return l.Unit
}

func fold(s string) string { return strings.ToLower(strings.TrimSpace(s)) }

// withUnit puts a unit behind a cell's number, before the word of a side.
func withUnit(cell, unit string) string {
	end := strings.LastIndexFunc(cell, unicode.IsDigit) + 1
	if end == 0 || unit == "" {
		return cell
	}
	return strings.TrimSpace(cell[:end] + " " + unit + cell[end:])
}

// Text writes rows as lines with a delimiter; cells that hold it are quoted.
func Text(rows [][]string, delimiter rune) (string, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Comma = delimiter
	for _, r := range rows {
		for i := range r {
			r[i] = strings.Join(strings.Fields(r[i]), " ")
		}
	}
	if err := w.WriteAll(rows); err != nil {
		return "", fmt.Errorf("write a table anew: %w", err)
	}
	return b.String(), nil
}

// Lines writes the rows of a workbook or a database, which keep their places: a
// blank row is a blank line, a title above the table stands as it is, and from
// the table's first row on all rows that hold more than one cell have its width.
func Lines(rows [][]string, delimiter rune) (string, error) {
	used, many := make([]int, len(rows)), map[int]int{}
	width, usual := 0, 0
	for i, r := range rows {
		for n, c := range r {
			if strings.TrimSpace(c) != "" {
				used[i] = n + 1
			}
		}
		width = max(width, used[i])
		if used[i] > 1 {
			many[used[i]]++
		}
	}
	for n, times := range many {
		if times > many[usual] || times == many[usual] && n > usual {
			usual = n
		}
	}
	var b strings.Builder
	begun := false
	for i, r := range rows {
		begun = begun || used[i] > 1 && 2*used[i] >= usual
		if r = r[:used[i]]; begun && used[i] > 1 {
			r = append(slices.Clone(r), make([]string, width-used[i])...)
		}
		if len(r) < 2 {
			b.WriteString(strings.Join(strings.Fields(strings.Join(r, "")), " ") + "\n")
			continue
		}
		line, err := Text([][]string{r}, delimiter)
		if err != nil {
			return "", err
		}
		b.WriteString(line)
	}
	return b.String(), nil
}
