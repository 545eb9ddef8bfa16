package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"

	"fairlead/ingest/contract/unit"
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
	s, err := openSheet(c, path, shotColumns, need...)
	if err != nil {
		return nil, err
	}
	defer s.close()
	s.rows.FieldsPerRecord = -1 // a row of another length is left out, not the end
	out := &shotFile{path: path}
	for {
		record, err := s.rows.Read()
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
		line, _ := s.rows.FieldPos(0)
		if len(record) != len(s.header) {
			out.reject(line, "has %d fields where the header has %d", len(record), len(s.header))
			continue
		}
		cells, err := s.cells(record)
		if err != nil {
			out.reject(line, "%v", err)
			continue
		}
		out.rows = append(out.rows, shotRow{line, cells})
	}
	if len(out.rows) == 0 && len(out.bad) > 0 {
		out.warn(c.ErrOrStderr())
		return nil, fmt.Errorf("%s: none of its %d rows can be used", path, len(out.bad))
	}
	return out, nil
}
