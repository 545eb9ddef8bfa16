package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"

	"fairlead/ingest/contract/unit"
	"github.com/spf13/cobra"
)

// sheetColumn is a column that a sheet may have: a name, with or without its
// unit behind it (carry, carry_m, carry_yd).
type sheetColumn struct {
	names    []string // first the name that errors use
	quantity unit.Quantity
	text     bool // words, not a number
}

// sheetCell is one value in stored units; Known is false for an empty cell.
type sheetCell struct {
	V     float64
	Text  string
	Known bool
}

// sheet is a CSV file with a header, being read.
type sheet struct {
	path   string
	rows   *csv.Reader
	header []string
	plan   []plannedCell
	close  func() error
}

// plannedCell says what a field of a row means.
type plannedCell struct {
	field  int
	header string
	column sheetColumn
	conv   unit.Converter
}

// openSheet opens a CSV file ("-" is standard input) and reads its header.
// Columns that nobody asked for are passed over; those of need have to be
// there. Errors say the file, the line and the column.
func openSheet(c *cobra.Command, path string, columns []sheetColumn, need ...string) (*sheet, error) {
	s := &sheet{path: path, close: func() error { return nil }}
	in := io.Reader(c.InOrStdin())
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("read shots: %w", err)
		}
		in, s.close = f, f.Close
	}
	s.rows = csv.NewReader(in)
	s.rows.TrimLeadingSpace = true
	if err := s.readHeader(columns, need); err != nil {
		s.close()
		return nil, err
	}
	return s, nil
}

func (s *sheet) readHeader(columns []sheetColumn, need []string) error {
	header, err := s.rows.Read()
	if errors.Is(err, io.EOF) {
		return fmt.Errorf("%s is empty: write a header line with columns such as %s", s.path, sheetNames(columns))
	}
	if err != nil {
		return fmt.Errorf("%s: %w", s.path, err)
	}
	s.header = header
	have := map[string]string{}
	for i, h := range header {
		h = strings.TrimSpace(strings.TrimPrefix(h, "\ufeff"))
		col, conv, ok, err := matchColumn(h, columns)
		if err != nil {
			return fmt.Errorf("%s line 1, column %q: %w", s.path, h, err)
		}
		if !ok {
			continue
		}
		name := col.names[0]
		if other, twice := have[name]; twice {
			return fmt.Errorf("%s line 1: columns %q and %q mean the same: keep one", s.path, other, h)
		}
		have[name] = h
		s.plan = append(s.plan, plannedCell{i, h, col, conv})
	}
	for _, n := range need {
		if have[n] == "" {
			i := slices.IndexFunc(columns, func(c sheetColumn) bool { return c.names[0] == n })
			return fmt.Errorf("%s line 1: column %s is missing (found %s): name it with its unit, as in %s",
				s.path, n, strings.Join(header, ", "), sheetName(columns[i]))
		}
	}
	if len(s.plan) == 0 {
		return fmt.Errorf("%s line 1: no column is known: use some of %s", s.path, sheetNames(columns))
	}
	return nil
}

// cells reads the fields of one row by column name, in stored units; an empty
// field is a value that was not measured.
func (s *sheet) cells(record []string) (map[string]sheetCell, error) {
	cells := map[string]sheetCell{}
	for _, k := range s.plan {
		text := strings.TrimSpace(record[k.field])
		if text == "" {
			continue
		}
		cell := sheetCell{Text: text, Known: true}
		if !k.column.text {
			v, err := strconv.ParseFloat(text, 64)
			if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("%s: %q is no number: leave the cell empty where nothing was measured", k.header, text)
			}
			cell.V = k.conv.To(v)
		}
		cells[k.column.names[0]] = cell
	}
	return cells, nil
}

// readSheet reads a whole sheet, of which every row has to be right.
func readSheet(c *cobra.Command, path string, columns []sheetColumn) ([]map[string]sheetCell, error) {
	s, err := openSheet(c, path, columns)
	if err != nil {
		return nil, err
	}
	defer s.close()
	var rows []map[string]sheetCell
	for {
		record, err := s.rows.Read()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		line, _ := s.rows.FieldPos(0)
		cells, err := s.cells(record)
		if err != nil {
			return nil, fmt.Errorf("%s line %d, %w", path, line, err)
		}
		rows = append(rows, cells)
	}
}

// matchColumn finds the column that a header means, longest name first, and
// the converter of the unit behind it.
func matchColumn(header string, columns []sheetColumn) (sheetColumn, unit.Converter, bool, error) {
	low := strings.ToLower(header)
	var best sheetColumn
	length := 0
	for _, col := range columns {
		for _, n := range col.names {
			if len(n) > length && (low == n || strings.HasPrefix(low, n+"_")) {
				best, length = col, len(n)
			}
		}
	}
	if length == 0 {
		return best, unit.Converter{}, false, nil
	}
	suffix := strings.TrimPrefix(low[length:], "_")
	if best.text {
		return best, unit.Converter{}, suffix == "", nil
	}
	if best.quantity == unit.Ratio && suffix == "ratio" {
		suffix = ""
	}
	conv, err := unit.Lookup(best.quantity, suffix)
	if err != nil {
		return best, conv, false, err
	}
	return best, conv, true, nil
}

// sheetName is a column's name with its stored unit.
func sheetName(c sheetColumn) string {
	name := c.names[0]
	if c.text {
		return name
	}
	if u := map[unit.Quantity]string{unit.Speed: "mps", unit.Ratio: "ratio"}[c.quantity]; u != "" {
		return name + "_" + u
	}
	return name + "_" + unit.Stored(c.quantity)
}

func sheetNames(columns []sheetColumn) string {
	var out []string
	for _, c := range columns {
		out = append(out, sheetName(c))
	}
	return strings.Join(out, ", ")
}
