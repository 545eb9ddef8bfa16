package stock

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"fairlead/ingest/contract/event"
)

// Bounds of a price list.
const (
	MostRows  = 5000
	mostBytes = 4 << 20
)

// Fault is what is wrong at one place of a price list.
type Fault struct {
	Line   int    `json:"line"` // from 1, the header's is the first; 0: the whole file
	Column string `json:"column,omitempty"`
	Value  string `json:"value,omitempty"`
	Reason string `json:"reason"`
	Try    string `json:"try"`
}

func (f Fault) Error() string {
	text := f.Reason
	if f.Value != "" {
		text = fmt.Sprintf("%q %s", f.Value, text)
	}
	if f.Column != "" {
		text = f.Column + ": " + text
	}
	if f.Line > 0 {
		text = fmt.Sprintf("line %d, %s", f.Line, text)
	}
	return text + ": " + f.Try
}

// List is a price list as it was read.
type List struct {
	Parts  []*event.CataloguePart
	Faults []Fault // what is wrong; a list with any is not to be used
}

// Read reads a price list: CSV with a header, one part a row, columns in any
// order, separated by commas or semicolons. Everything that is wrong is said, each
// with its line and what to try; nothing is guessed and nothing left out.
func Read(in io.Reader) List {
	r := &lister{first: map[string]int{}}
	text, err := io.ReadAll(io.LimitReader(in, mostBytes+1))
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	switch {
	case err != nil:
		r.bad(0, "", "", "the file can't be read: "+err.Error(), "send it again")
	case len(text) > mostBytes:
		r.bad(0, "", "", fmt.Sprintf("is longer than %d MB", mostBytes>>20), "cut it into several")
	case len(bytes.TrimSpace(text)) == 0:
		r.bad(0, "", "", "the file is empty", "give a header line and one line a part, as `fairlead stock import --help` shows")
	case bytes.HasPrefix(text, []byte("PK")) || bytes.IndexByte(text, 0) >= 0:
		r.bad(0, "", "", "is no text, but a workbook or a program's file", "save it as CSV, encoded as UTF-8")
	case !utf8.Valid(text):
		line := 1 + bytes.Count(text[:invalid(text)], []byte("\n"))
		r.bad(line, "", "", "holds signs that are no UTF-8", "save it as CSV, encoded as UTF-8")
	default:
		r.read(string(text))
	}
	return r.list
}

func invalid(text []byte) int {
	for i := 0; i < len(text); {
		c, n := utf8.DecodeRune(text[i:])
		if c == utf8.RuneError && n <= 1 {
			return i
		}
		i += n
	}
	return len(text)
}

// lister reads one list.
type lister struct {
	list     List
	header   []string
	first    map[string]int // line of a code
	currency string
	at       map[string]string // cells of the present row, by column
	line     int
}

func (r *lister) bad(line int, column, value, reason, try string) {
	r.list.Faults = append(r.list.Faults, Fault{line, column, value, reason, try})
}

// wrong notes a fault of the present row.
func (r *lister) wrong(column, reason, try string) { r.bad(r.line, column, r.at[column], reason, try) }

func (r *lister) read(text string) {
	in := csv.NewReader(strings.NewReader(text))
	in.Comma, in.FieldsPerRecord, in.TrimLeadingSpace = separator(text), -1, true
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var broken *csv.ParseError
		if errors.As(err, &broken) {
			r.bad(broken.StartLine, "", "", "a quotation mark is open or stands amid a cell ("+broken.Err.Error()+")",
				"close it, or write it twice where it is meant")
			break
		}
		r.line, _ = in.FieldPos(0)
		switch {
		case r.header == nil:
			if !r.head(cells) {
				return
			}
			continue
		case empty(cells):
			continue
		case len(cells) != len(r.header):
			r.bad(r.line, "", "", fmt.Sprintf("has %d cells, the header %d", len(cells), len(r.header)),
				"quote cells that hold the separator, and leave cells empty that are not known")
			continue
		case len(r.list.Parts) >= MostRows:
			r.bad(r.line, "", "", fmt.Sprintf("more than %d parts", MostRows), "cut the list into several")
			return
		}
		r.row(cells)
	}
	if len(r.list.Parts) == 0 && len(r.list.Faults) == 0 {
		r.bad(0, "", "", "lists no part", "give one line a part below the header")
	}
}

func empty(cells []string) bool {
	return !slices.ContainsFunc(cells, func(c string) bool { return strings.TrimSpace(c) != "" })
}

// separator is what parts the cells of the header line.
func separator(text string) rune {
	head, _, _ := strings.Cut(text, "\n")
	for _, c := range []rune{';', '\t'} {
		if strings.Count(head, string(c)) > strings.Count(head, ",") {
			return c
		}
	}
	return ','
}

// head reads the header; false: the rows can't be read by it.
func (r *lister) head(cells []string) bool {
	known := Columns()
	for _, c := range cells {
		name := strings.ToLower(strings.NewReplacer(" ", "_", "-", "_").Replace(strings.TrimSpace(c)))
		switch {
		case name == "":
			r.bad(r.line, "", "", fmt.Sprintf("column %d has no name", len(r.header)+1), "name it or take it out")
		case slices.Contains(r.header, name):
			r.bad(r.line, name, "", "stands there twice", "keep one of them")
		case !slices.ContainsFunc(known, func(k Column) bool { return k.Name == name }):
			r.bad(r.line, name, "", "is no column of a price list", "use "+names(known))
		}
		r.header = append(r.header, name)
	}
	for _, must := range []string{"code", "kind"} {
		if !slices.Contains(r.header, must) {
			r.bad(r.line, must, "", "this column is missing", "every part has a code of yours and a kind: head, shaft, grip, adapter or work")
		}
	}
	return len(r.list.Faults) == 0
}

func names(all []Column) string {
	out := make([]string, len(all))
	for i, c := range all {
		out[i] = c.Name
	}
	return strings.Join(out, ", ")
}
