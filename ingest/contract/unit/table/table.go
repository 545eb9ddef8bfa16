// Package table reads tables that people bring: CSV with a header that names
// quantities and, where they are not the stored ones, their units. Values come out
// in stored units. Errors say the file, the line and the column.
package table

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"fairlead/ingest/contract/unit"
)

// Cell is one value in stored units; Known is false for an empty cell.
type Cell struct {
	V     float64
	Text  string
	Known bool
}

// Row is one row of a table by the first names of its columns.
type Row struct {
	Line  int // of the file, from 1
	Cells map[string]Cell
}

// Value returns a number and whether it was given.
func (r Row) Value(name string) (float64, bool) {
	c := r.Cells[name]
	return c.V, c.Known
}

// Text returns the words of a cell, nothing for an empty one.
func (r Row) Text(name string) string { return r.Cells[name].Text }

// reader is a table with a header, being read.
type reader struct {
	name   string
	rows   *csv.Reader
	header []string
	plan   []planned
}

// planned says what a field of a row means.
type planned struct {
	field  int
	header string
	column Column
	conv   unit.Converter
}

// open reads the header. Columns that nobody asked for are passed over; those of
// need have to be there.
func open(in io.Reader, name string, columns []Column, need []string) (*reader, error) {
	t := &reader{name: name, rows: csv.NewReader(in)}
	t.rows.TrimLeadingSpace = true
	header, err := t.rows.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s is empty: write a header line with columns such as %s", name, columnNames(columns))
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	t.header = header
	have := map[string]string{}
	exported := ownOf(header).status >= 0
	for i, h := range header {
		h = strings.TrimSpace(strings.TrimPrefix(h, "\ufeff"))
		col, conv, ok, err := match(h, columns)
		if err != nil && exported {
			continue // a column of the export that only begins like one of these: carry_air
		}
		if err != nil {
			return nil, fmt.Errorf("%s line 1, column %q: %w", name, h, err)
		}
		if !ok {
			continue
		}
		first := col.Names[0]
		if other, twice := have[first]; twice {
			return nil, fmt.Errorf("%s line 1: columns %q and %q mean the same: keep one", name, other, h)
		}
		have[first] = h
		t.plan = append(t.plan, planned{i, h, col, conv})
	}
	for _, n := range need {
		if have[n] == "" {
			i := slices.IndexFunc(columns, func(c Column) bool { return c.Names[0] == n })
			return nil, fmt.Errorf("%s line 1: column %s is missing (found %s): name it with its unit, as in %s",
				name, n, strings.Join(header, ", "), columns[i])
		}
	}
	if len(t.plan) == 0 {
		return nil, fmt.Errorf("%s line 1: no column is known: use some of %s", name, columnNames(columns))
	}
	return t, nil
}

// cells reads the fields of one row; an empty field is a value that was not
// measured.
func (t *reader) cells(record []string) (map[string]Cell, error) {
	cells := map[string]Cell{}
	for _, k := range t.plan {
		text := strings.TrimSpace(record[k.field])
		if text == "" || text == absent {
			continue
		}
		cell := Cell{Text: text, Known: true}
		if !k.column.Text {
			v, err := strconv.ParseFloat(text, 64)
			if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("%s: %q is no number: leave the cell empty where nothing was measured", k.header, text)
			}
			cell.V = k.conv.To(v)
		}
		cells[k.column.Names[0]] = cell
	}
	return cells, nil
}

// Read reads a whole table, of which every row has to be right. Of the program's
// own export of shots, the rows that count; where none does, that is an error.
func Read(in io.Reader, name string, columns []Column) ([]Row, error) {
	t, err := open(in, name, columns, nil)
	if err != nil {
		return nil, err
	}
	var rows []Row
	own, without := ownOf(t.header), 0
	for {
		record, err := t.rows.Read()
		if errors.Is(err, io.EOF) {
			if len(rows) == 0 && without > 0 {
				return nil, fmt.Errorf("%s: none of its %d shots counts: look at the column status, and export other days", name, without)
			}
			return rows, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if yes, _ := own.counts(record); !yes {
			without++
			continue
		}
		line, _ := t.rows.FieldPos(0)
		cells, err := t.cells(record)
		if err != nil {
			return nil, fmt.Errorf("%s line %d, %w", name, line, err)
		}
		rows = append(rows, Row{line, cells})
	}
}
