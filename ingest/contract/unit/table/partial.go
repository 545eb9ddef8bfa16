package table

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
)

// Left is a row that was left out, and why.
type Left struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Reason string `json:"reason"`
}

// Partial is what could be read of a table, and what could not.
type Partial struct {
	Name string
	Rows []Row
	Out  []Left
}

// Reject leaves a row out. Whoever reads the rows may do so too.
func (p *Partial) Reject(line int, format string, args ...any) {
	p.Out = append(p.Out, Left{p.Name, line, fmt.Sprintf(format, args...)})
}

// Warn names the rows that were left out.
func (p *Partial) Warn(w io.Writer) {
	for _, b := range p.Out {
		fmt.Fprintf(w, "%s line %d left out: %s\n", b.File, b.Line, b.Reason)
	}
}

// Unusable says that there are rows and none of them can be used.
func (p *Partial) Unusable() error {
	return fmt.Errorf("%s: none of its %d rows can be used", p.Name, len(p.Out))
}

// ReadPartial reads a table of which a row that cannot be used is noted, and the
// rest is read on. A table without a usable header is an error, and so is one with
// nothing but unusable rows, which is returned beside its error.
func ReadPartial(in io.Reader, name string, columns []Column, need ...string) (*Partial, error) {
	t, err := open(in, name, columns, need)
	if err != nil {
		return nil, err
	}
	t.rows.FieldsPerRecord = -1 // a row of another length is left out, not the end
	out := &Partial{Name: name}
	own := ownOf(t.header)
	for {
		record, err := t.rows.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var parse *csv.ParseError
		if errors.As(err, &parse) {
			out.Reject(parse.StartLine, "%v", parse.Err)
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		line, _ := t.rows.FieldPos(0)
		if len(record) != len(t.header) {
			out.Reject(line, "has %d fields where the header has %d", len(record), len(t.header))
			continue
		}
		if yes, status := own.counts(record); !yes {
			out.Reject(line, "does not count: its status is %s", status)
			continue
		}
		cells, err := t.cells(record)
		if err != nil {
			out.Reject(line, "%v", err)
			continue
		}
		out.Rows = append(out.Rows, Row{line, cells})
	}
	if len(out.Rows) == 0 && len(out.Out) > 0 {
		return out, out.Unusable()
	}
	return out, nil
}
