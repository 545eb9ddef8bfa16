package stock

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
)

// Bounds of a price list.
const (
	MostRows  = 5000
	mostBytes = 4 << 20
	// faults that are told of one list
	mostFaults = 100
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
// order, separated by commas, semicolons, tabs or bars. Everything that is wrong is
// said, each with its line and what to try; nothing is guessed and nothing left out.
func Read(in io.Reader) List {
	r := &lister{first: map[string]int{}}
	data, err := io.ReadAll(io.LimitReader(in, mostBytes+1))
	switch {
	case err != nil:
		r.bad(0, "", "", "the file can't be read: "+err.Error(), "send it again")
	case len(data) > mostBytes:
		r.bad(0, "", "", fmt.Sprintf("is longer than %d MB", mostBytes>>20), "cut it into several")
	default:
		text, line, reason, try := plainText(data)
		if reason != "" {
			r.bad(line, "", "", reason, try)
			break
		}
		r.read(text)
		r.prices()
	}
	if more := len(r.list.Faults) - mostFaults; more > 0 {
		r.list.Faults = append(r.list.Faults[:mostFaults:mostFaults], Fault{Reason: fmt.Sprintf("%d more faults are not shown", more),
			Try: "mend these first: one cause often makes many"})
	}
	return r.list
}

// lister reads one list.
type lister struct {
	list     List
	header   []string
	first    map[string]int // line of a code, in small letters
	priced   []pricedAt
	currency string
	at       map[string]string // cells of the present row, by column
	spoilt   map[string]bool   // of them those that say nothing that was meant
	line     int
}

func (r *lister) bad(line int, column, value, reason, try string) {
	r.list.Faults = append(r.list.Faults, Fault{line, column, value, reason, try})
}

// wrong notes a fault of the present row.
func (r *lister) wrong(column, reason, try string) { r.bad(r.line, column, r.at[column], reason, try) }

func (r *lister) read(text string) {
	text, by := separated(text)
	in := csv.NewReader(strings.NewReader(text))
	in.Comma, in.FieldsPerRecord, in.TrimLeadingSpace = by, -1, true
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var broken *csv.ParseError
		if errors.As(err, &broken) {
			r.bad(broken.StartLine, "", "", "a quotation mark is open or stands amid a cell ("+broken.Err.Error()+")",
				"close it, or write it twice where it is meant; of inches write in, as in 46 in")
			break
		}
		r.line, _ = in.FieldPos(0)
		if empty(cells) {
			continue
		}
		// Tables write empty columns beside the last that is filled.
		for len(cells) > max(1, len(r.header)) && strings.TrimSpace(cells[len(cells)-1]) == "" {
			cells = cells[:len(cells)-1]
		}
		switch {
		case r.header == nil:
			if !r.head(cells) {
				return
			}
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

// head reads the header; false: the rows can't be read by it.
func (r *lister) head(cells []string) bool {
	known := Columns()
	is := func(name string) bool {
		return slices.ContainsFunc(known, func(k Column) bool { return k.Name == name })
	}
	for _, c := range cells {
		words, _ := cell(c)
		r.header = append(r.header, strings.ToLower(strings.NewReplacer(" ", "_", "-", "_").Replace(words)))
	}
	if !slices.ContainsFunc(r.header, is) {
		r.notHead(cells)
		return false
	}
	for i, name := range r.header {
		bare := strings.TrimRight(strings.FieldsFunc(name+" ", func(c rune) bool { return strings.ContainsRune("([/", c) })[0], "_ ")
		switch {
		case name == "":
			r.bad(r.line, "", "", fmt.Sprintf("column %d has no name", i+1), "name it or take it out")
		case slices.Contains(r.header[:i], name):
			r.bad(r.line, name, "", "stands there twice", "keep one of them")
		case !is(name) && is(bare):
			r.bad(r.line, name, "", "is no column of a price list", "call it "+bare+", and write units into the cells")
		case !is(name):
			r.bad(r.line, name, "", "is no column of a price list", "use "+names(known))
		}
	}
	for _, must := range []string{"code", "kind"} {
		if !slices.Contains(r.header, must) {
			r.bad(r.line, must, "", "this column is missing", "every part has a code of yours and a kind: head, shaft, grip, adapter or work")
		}
	}
	return len(r.list.Faults) == 0
}

// notHead says why a first line is no header.
func (r *lister) notHead(cells []string) {
	if len(cells) == 1 && strings.ContainsAny(cells[0], ",;\t|") {
		r.bad(r.line, "", cells[0], "is one cell", "take off the quotation marks about the whole line: commas, semicolons or tabs part the cells")
		return
	}
	r.bad(r.line, "", strings.TrimSpace(cells[0]), "begins no header: none of its columns is one of a price list",
		"take out what stands above the header, part its cells with commas, semicolons or tabs, and use "+names(Columns()))
}

func names(all []Column) string {
	out := make([]string, len(all))
	for i, c := range all {
		out[i] = c.Name
	}
	return strings.Join(out, ", ")
}
