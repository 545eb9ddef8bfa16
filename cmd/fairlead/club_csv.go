package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"

	"fairlead/ingest/unit"
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

// readSheet reads a CSV file with a header ("-" is standard input) and returns
// its rows by column name, in stored units. Columns that nobody asked for are
// passed over. Errors say the file, the line and the column.
func readSheet(c *cobra.Command, path string, columns []sheetColumn) ([]map[string]sheetCell, error) {
	in := io.Reader(c.InOrStdin())
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("read shots: %w", err)
		}
		defer f.Close()
		in = f
	}
	r := csv.NewReader(in)
	r.TrimLeadingSpace = true
	header, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s is empty: write a header line with columns such as %s", path, sheetNames(columns))
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	type known struct {
		name string
		conv unit.Converter
		text bool
	}
	plan := map[int]known{}
	have := map[string]string{}
	for i, h := range header {
		h = strings.TrimSpace(strings.TrimPrefix(h, "\ufeff"))
		col, conv, ok, err := matchColumn(h, columns)
		if err != nil {
			return nil, fmt.Errorf("%s line 1, column %q: %w", path, h, err)
		}
		if !ok {
			continue
		}
		if other, twice := have[col.names[0]]; twice {
			return nil, fmt.Errorf("%s line 1: columns %q and %q mean the same: keep one", path, other, h)
		}
		have[col.names[0]] = h
		plan[i] = known{col.names[0], conv, col.text}
	}
	if len(plan) == 0 {
		return nil, fmt.Errorf("%s line 1: no column is known: use some of %s", path, sheetNames(columns))
	}
	var rows []map[string]sheetCell
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		line, _ := r.FieldPos(0)
		row := map[string]sheetCell{}
		for i, k := range plan {
			text := strings.TrimSpace(record[i])
			if text == "" {
				continue
			}
			cell := sheetCell{Text: text, Known: true}
			if !k.text {
				v, err := strconv.ParseFloat(text, 64)
				if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
					return nil, fmt.Errorf("%s line %d, %s: %q is no number: leave the cell empty where nothing was measured", path, line, have[k.name], text)
				}
				cell.V = k.conv.To(v)
			}
			row[k.name] = cell
		}
		rows = append(rows, row)
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

func sheetNames(columns []sheetColumn) string {
	var out []string
	for _, c := range columns {
		name := c.names[0]
		if u := map[unit.Quantity]string{unit.Speed: "mps", unit.Ratio: "ratio"}[c.quantity]; u != "" && !c.text {
			name += "_" + u
		} else if !c.text {
			name += "_" + unit.Stored(c.quantity)
		}
		out = append(out, name)
	}
	return strings.Join(out, ", ")
}
