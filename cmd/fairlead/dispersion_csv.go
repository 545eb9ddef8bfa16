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

// shotColumns are the columns that a file of shots may have, each with or
// without a unit behind its name (carry_m, carry_yd, ball_speed_mph).
var shotColumns = []sheetColumn{
	{names: []string{"carry"}, quantity: unit.Length},
	{names: []string{"offline"}, quantity: unit.Length},
	{names: []string{"ball_speed"}, quantity: unit.Speed},
	{names: []string{"launch"}, quantity: unit.Angle},
	{names: []string{"spin"}, quantity: unit.Rotation},
	{names: []string{"landing"}, quantity: unit.Angle},
	{names: []string{"strike_x"}, quantity: unit.Length},
	{names: []string{"strike_y"}, quantity: unit.Length},
	{names: []string{"start"}, quantity: unit.Angle},
	{names: []string{"position"}, quantity: unit.Ratio},
	{names: []string{"instructions"}, quantity: unit.Ratio},
	{names: []string{"trial"}, text: true},
	{names: []string{"swing"}, text: true},
}

// shotRow is one row of a file of shots, in stored units.
type shotRow struct {
	line  int
	cells map[string]sheetCell
}

// value returns a number and whether it was given.
func (r shotRow) value(name string) (float64, bool) {
	c := r.cells[name]
	return c.V, c.Known
}

// badRow is a row that was left out, and why.
type badRow struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Reason string `json:"reason"`
}

// shotFile is what could be read of a file of shots.
type shotFile struct {
	path string
	rows []shotRow
	bad  []badRow
}

func (f *shotFile) reject(line int, format string, args ...any) {
	f.bad = append(f.bad, badRow{f.path, line, fmt.Sprintf(format, args...)})
}

// warn names the rows that were left out.
func (f *shotFile) warn(w io.Writer) {
	for _, b := range f.bad {
		fmt.Fprintf(w, "%s line %d left out: %s\n", b.File, b.Line, b.Reason)
	}
}

// readShots reads a CSV file of shots ("-" is standard input). A row that
// cannot be used is noted and the rest is read on; a file without a usable
// header, or with nothing but unusable rows, is an error.
func readShots(c *cobra.Command, path string, need ...string) (*shotFile, error) {
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
	r.FieldsPerRecord = -1
	header, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s is empty: write a header line with columns such as carry_m,offline_m", path)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	plan, err := planShots(path, header, need)
	if err != nil {
		return nil, err
	}
	out := &shotFile{path: path}
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var parse *csv.ParseError
		if errors.As(err, &parse) {
			out.reject(parse.StartLine, "%v", parse.Err)
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", path, err)
		}
		line, _ := r.FieldPos(0)
		if len(record) != len(header) {
			out.reject(line, "has %d fields where the header has %d", len(record), len(header))
			continue
		}
		row, err := plan.row(record)
		if err != nil {
			out.reject(line, "%v", err)
			continue
		}
		row.line = line
		out.rows = append(out.rows, row)
	}
	if len(out.rows) == 0 && len(out.bad) > 0 {
		out.warn(c.ErrOrStderr())
		return nil, fmt.Errorf("%s: none of its %d rows can be used", path, len(out.bad))
	}
	return out, nil
}

// shotPlan says what each field of a row means.
type shotPlan []struct {
	field  int
	header string
	column sheetColumn
	conv   unit.Converter
}

func planShots(path string, header, need []string) (shotPlan, error) {
	var plan shotPlan
	have := map[string]string{}
	for i, h := range header {
		h = strings.TrimSpace(strings.TrimPrefix(h, "\ufeff"))
		col, conv, ok, err := matchColumn(h, shotColumns)
		if err != nil {
			return nil, fmt.Errorf("%s line 1, column %q: %w", path, h, err)
		}
		if !ok {
			continue
		}
		name := col.names[0]
		if other, twice := have[name]; twice {
			return nil, fmt.Errorf("%s line 1: columns %q and %q mean the same: keep one", path, other, h)
		}
		have[name] = h
		plan = append(plan, struct {
			field  int
			header string
			column sheetColumn
			conv   unit.Converter
		}{i, h, col, conv})
	}
	for _, n := range need {
		if have[n] == "" {
			return nil, fmt.Errorf("%s line 1: column %s is missing (found %s): name it with its unit, as in %s_%s",
				path, n, strings.Join(header, ", "), n, map[string]string{"start": "deg", "ball_speed": "mps"}[n]+map[string]string{"carry": "m", "offline": "m"}[n])
		}
	}
	if len(plan) == 0 {
		return nil, fmt.Errorf("%s line 1: no column is known: use some of %s", path, sheetNames(shotColumns))
	}
	return plan, nil
}

// row reads the fields of one row; an empty field is a value that was not measured.
func (p shotPlan) row(record []string) (shotRow, error) {
	row := shotRow{cells: map[string]sheetCell{}}
	for _, k := range p {
		text := strings.TrimSpace(record[k.field])
		if text == "" {
			continue
		}
		cell := sheetCell{Text: text, Known: true}
		if !k.column.text {
			v, err := strconv.ParseFloat(text, 64)
			if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				return row, fmt.Errorf("%s is %q, which is no number", k.header, text)
			}
			cell.V = k.conv.To(v)
		}
		row.cells[k.column.names[0]] = cell
	}
	return row, nil
}
