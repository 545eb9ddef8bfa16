package sample

import (
	"errors"
	"slices"
	"strings"

	"fairlead/ingest/bay/sheet"
)

// File is a device's file, whole or its first part.
type File struct {
	Name string // base name
	Data []byte
	// Of a workbook or a database: what it is (xlsx, sqlite), the sheet or table that
	// Data has as lines. See Of.
	Holder, Part string
}

// Table is what stands in files of one layout, with the words by which a field
// map describes the layout.
type Table struct {
	Holder    string // xlsx or sqlite, where that holds the table
	Part      string // its sheet or table; "": the first that is shown
	Encoding  string // as in maps; "": UTF-8
	Format    string // csv, ndjson, json, xml, keys, text
	Records   string // see feed maps
	Separator string // keys: between key and value
	Delimiter string // csv
	Widths    []int
	NoQuote   bool
	Header    bool
	Skip      int
	UnitsRow  bool
	Multiline bool
	Comments  []string
	SkipLines []string // patterns of lines that are no shots
	KeepLines []string // patterns of lines that alone are
	Preamble  []string // lines before the header
	Parts     []Drawn  // columns out of each line
	Between   string   // keys: between pairs
	Above     []Drawn  // columns out of what stands above or between the records
	Texts     []string // the files', decoded
	Columns   []Column
	Rows      int
	Names     []string // of the files
	FileOf    []int    // for each row, its file
	// A table that is written another way: a column a shot, or a row a value.
	Transposed bool
	Long       *sheet.Long

	read []string // the files' texts, of a table
}

// Column is one column, key or path, with the text of each row.
type Column struct {
	Name  string // as a map names it
	Title string // what the file calls it, where that is no name for a map
	Unit  string // of a row of units
	Cells []string
}

// Copy is the table with cells of its own.
func (t *Table) Copy() *Table {
	out := *t
	out.Columns = slices.Clone(t.Columns)
	for i := range out.Columns {
		out.Columns[i].Cells = slices.Clone(out.Columns[i].Cells)
	}
	return &out
}

// ErrEmpty says that there is nothing to look at.
var ErrEmpty = errors.New("the files hold no text")

// maxRows is how many records are looked at.
const maxRows = 400

// maxColumns is how many columns are looked at.
const maxColumns = 500

// Read finds the layout of files and reads their table. The files must be of
// one device; the first one that has records decides.
func Read(files []File) (*Table, error) {
	var texts []string
	t := &Table{}
	for i, f := range files {
		if sheet.Kind(f.Data) != "" {
			var err error
			if f, err = Of(f.Name, f.Data, nil); err != nil {
				return nil, err
			}
		}
		if i == 0 {
			t.Holder, t.Part = f.Holder, f.Part
		}
		text, enc := decode(f.Data)
		if i == 0 || strings.TrimSpace(strings.Join(texts, "")) == "" {
			t.Encoding = enc
		}
		texts = append(texts, text)
		t.Names = append(t.Names, f.Name)
	}
	t.Texts = texts
	first := ""
	for _, text := range texts {
		if first = strings.TrimSpace(text); first != "" {
			break
		}
	}
	switch {
	case first == "":
		return nil, ErrEmpty
	case t.Holder != "":
		if err := t.readLines(texts); err != nil {
			return nil, err
		}
	case first[0] == '<' && t.readXML(texts):
	case first[0] == '[' && t.afresh(t.readListLines, texts):
	case first[0] == '{' && (t.afresh(t.readMatrix, texts) || t.afresh(t.readKeyed, texts) || t.afresh(t.readBeside, texts)):
	case strings.Contains(first, "{") && t.readJSON(texts):
	case t.afresh(t.readKeys, texts):
	case t.afresh(t.readFrames, texts):
	default:
		if err := t.readLines(texts); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// afresh tries a way of reading, and leaves nothing behind where it is not the way.
func (t *Table) afresh(read func([]string) bool, texts []string) bool {
	was := *t
	if read(texts) {
		return true
	}
	*t = was
	return false
}

// put adds a value to the row that is being read.
func (t *Table) put(name, value string) {
	for i := range t.Columns {
		if t.Columns[i].Name == name {
			t.pad(i, t.Rows)
			if len(t.Columns[i].Cells) == t.Rows {
				t.Columns[i].Cells = append(t.Columns[i].Cells, value)
			}
			return
		}
	}
	if len(t.Columns) >= maxColumns {
		return
	}
	t.Columns = append(t.Columns, Column{Name: name})
	t.pad(len(t.Columns)-1, t.Rows)
	c := &t.Columns[len(t.Columns)-1]
	c.Cells = append(c.Cells, value)
}

// endRow ends the row that is being read.
func (t *Table) endRow(file int) {
	t.Rows++
	t.FileOf = append(t.FileOf, file)
	for i := range t.Columns {
		t.pad(i, t.Rows)
	}
}

func (t *Table) pad(column, rows int) {
	c := &t.Columns[column]
	for len(c.Cells) < rows {
		c.Cells = append(c.Cells, "")
	}
}
