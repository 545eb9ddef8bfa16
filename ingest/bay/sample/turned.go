package sample

import (
	"slices"
	"strings"

	"fairlead/ingest/bay/sheet"
)

// Turned reads a table as one whose columns are shots; nil where it is none of
// cells.
func (t *Table) Turned() *Table {
	rows, above := t.matrix()
	if len(rows) < 3 {
		return nil
	}
	return t.anew(sheet.Turn(rows), above, func(n *Table) { n.Transposed = true })
}

// Gathered reads a table as one whose rows are values, in each way that it may
// be meant.
func (t *Table) Gathered() (out []*Table) {
	rows, above := t.matrix()
	if len(rows) < 6 || len(rows[0]) < 3 {
		return nil
	}
	head := rows[0]
	width := len(head)
	var names, values []int
	unit := ""
	for i := range width {
		texts, changes, units, figures := map[string]bool{}, 0, 0, 0
		for k, r := range rows[1:] {
			if i >= len(r) {
				continue
			}
			texts[r[i]] = true
			if k > 0 && i < len(rows[k]) && rows[k][i] != r[i] {
				changes++
			}
			if unitLike.MatchString(r[i]) {
				units++
			}
			if strings.ContainsAny(r[i], "0123456789") {
				figures++
			}
		}
		n := len(rows) - 1
		switch {
		case figures*10 >= n*6:
			if changes*10 >= n*6 && len(texts) > 3 {
				values = append(values, i)
			}
		case units*10 >= n*6 && len(texts) < 12:
			unit = head[i]
		case changes*10 >= n*8 && len(texts) > 2 && len(texts)*2 <= n+1:
			names = append(names, i)
		}
	}
	for _, name := range names {
		for _, value := range values {
			long := &sheet.Long{Name: head[name], Value: head[value], Unit: unit}
			flat, err := long.Gather(rows, nil)
			if err != nil || len(flat) < 3 {
				continue
			}
			if n := t.anew(flat, above, func(n *Table) { n.Long = long }); n != nil {
				out = append(out, n)
			}
		}
	}
	return out
}

// matrix is the first file's table as it stands, and how many lines are above it.
func (t *Table) matrix() (rows [][]string, above int) {
	if t.Format != "csv" || t.Widths != nil || t.Delimiter == "spaces" || len(t.read) == 0 {
		return nil, 0
	}
	text := strings.ReplaceAll(strings.ReplaceAll(t.read[0], "\r\n", "\n"), "\r", "\n")
	for n, line := range strings.Split(text, "\n") {
		trimmed := strings.TrimSpace(line)
		if trimmed == "" || slices.ContainsFunc(t.Comments, func(c string) bool { return strings.HasPrefix(trimmed, c) }) {
			continue
		}
		cells := t.Split(line)
		if rows == nil && len(cells) < 3 {
			above = n + 1
			continue
		}
		rows = append(rows, cells)
	}
	return rows, above
}

// anew reads rows as a table of their own.
func (t *Table) anew(rows [][]string, above int, mark func(*Table)) *Table {
	text, err := sheet.Text(rows, ';')
	if err != nil {
		return nil
	}
	n := &Table{Encoding: t.Encoding, Names: t.Names}
	if n.readLines([]string{text}) != nil || n.Skip > 0 {
		return nil
	}
	n.Holder, n.Part = t.Holder, t.Part
	n.Delimiter, n.Widths, n.Skip, n.Comments, n.read = t.Delimiter, nil, above, t.Comments, nil
	n.Preamble = strings.Split(t.read[0], "\n")[:above]
	mark(n)
	return n
}
