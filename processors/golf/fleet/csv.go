package fleet

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

// CSVColumns says which columns of a file hold what. Session, V and V0 may be
// empty. Used are the columns of numbers to read besides; a name that is not
// in the header is an error.
type CSVColumns struct {
	Player, Session, Y, V, V0 string
	Used                      []string
	// Labels are columns of names: what many players have in common.
	Labels []string
}

// CellError is a cell that could not be read. Line counts from 1 with the
// header; Column is the header's name.
type CellError struct {
	Line   int
	Column string
	Value  string
	Reason string
}

func (e *CellError) Error() string {
	return fmt.Sprintf("line %d, column %s: %q %s", e.Line, e.Column, e.Value, e.Reason)
}

// ReadCSV reads a table with a header line. Empty cells and NA are missing
// numbers, which Table.Data counts; any other text in a column of numbers is a
// *CellError.
func ReadCSV(r io.Reader, want CSVColumns) (*Table, error) {
	in := csv.NewReader(r)
	in.TrimLeadingSpace = true
	header, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("the file is empty: its first line must name the columns")
	}
	if err != nil {
		return nil, fmt.Errorf("header: %w", err)
	}
	for i, h := range header {
		header[i] = strings.TrimSpace(strings.TrimPrefix(h, "\ufeff"))
		if slices.Contains(header[:i], header[i]) {
			return nil, fmt.Errorf("header: two columns are named %q; rename one", header[i])
		}
	}
	at := func(name string) (int, error) {
		if i := slices.Index(header, name); i >= 0 {
			return i, nil
		}
		return 0, fmt.Errorf("there is no column %q; the file has %s", name, strings.Join(header, ", "))
	}
	t := &Table{Columns: map[string][]float64{}}
	type numeric struct {
		col  int
		name string
		keep func(float64)
	}
	var nums []numeric
	number := func(name string, to func(float64)) error {
		i, err := at(name)
		if err == nil {
			nums = append(nums, numeric{i, name, to})
		}
		return err
	}
	player, err := at(want.Player)
	if err != nil {
		return nil, err
	}
	session := -1
	if want.Session != "" {
		if session, err = at(want.Session); err != nil {
			return nil, err
		}
	}
	if err := number(want.Y, func(x float64) { t.Y = append(t.Y, x) }); err != nil {
		return nil, err
	}
	if want.V != "" {
		if err := number(want.V, func(x float64) { t.V = append(t.V, x) }); err != nil {
			return nil, err
		}
	}
	if want.V0 != "" {
		if err := number(want.V0, func(x float64) { t.V0 = append(t.V0, x) }); err != nil {
			return nil, err
		}
	}
	for _, name := range want.Used {
		if _, twice := t.Columns[name]; twice {
			continue
		}
		t.Columns[name] = nil
		if err := number(name, func(x float64) { t.Columns[name] = append(t.Columns[name], x) }); err != nil {
			return nil, err
		}
	}
	labels := make([]int, len(want.Labels))
	for i, name := range want.Labels {
		if labels[i], err = at(name); err != nil {
			return nil, err
		}
		if t.Labels == nil {
			t.Labels = map[string][]string{}
		}
	}
	for {
		rec, err := in.Read()
		if errors.Is(err, io.EOF) {
			return t, nil
		}
		if err != nil {
			return nil, fmt.Errorf("trials: %w", err)
		}
		line, _ := in.FieldPos(0)
		t.Line = append(t.Line, line)
		t.Player = append(t.Player, strings.TrimSpace(rec[player]))
		if session >= 0 {
			t.Session = append(t.Session, strings.TrimSpace(rec[session]))
		}
		for i, name := range want.Labels {
			t.Labels[name] = append(t.Labels[name], strings.TrimSpace(rec[labels[i]]))
		}
		for _, n := range nums {
			x, err := parseCell(rec[n.col])
			if err != nil {
				return nil, &CellError{line, n.name, rec[n.col], err.Error()}
			}
			if (n.name == want.V) && x <= 0 {
				return nil, &CellError{line, n.name, rec[n.col], "is no sampling variance: it must be above 0"}
			}
			n.keep(x)
		}
	}
}

func parseCell(s string) (float64, error) {
	s = strings.TrimSpace(s)
	if s == "" || s == "NA" {
		return math.NaN(), nil
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || !finite(x) {
		return 0, errors.New("is not a number; leave the cell empty where it is missing")
	}
	return x, nil
}
