package feed

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"fairlead/ingest/bay/sheet"
)

// Whole says that a file can be read only as a whole: a shot is no run of its
// bytes. Such files are followed as a Document, or in a folder.
func (m *Map) Whole() bool { return m.turned() || m.holder != "" }

// turned says that a table's rows are no shots.
func (m *Map) turned() bool { return m.csv.transposed || m.csv.long != nil || m.beside() }

// beside says that the columns are lists beside one another in an object.
func (m *Map) beside() bool { return m.kind == "json" && m.records == sheet.RecordsBeside }

// plain writes the table of a file that is read as a whole with a row for each
// shot, as the map then reads it.
func (m *Map) plain(data []byte) ([]byte, error) {
	switch m.holder {
	case holderWorkbook:
		return m.arranged(sheet.Workbook(bytes.NewReader(data), m.sheet))
	case holderDatabase:
		return m.arranged(sheet.Bytes{Main: data}.Read(m.table, m.named()))
	}
	if m.beside() {
		return m.unfolded(data)
	}
	return m.arranged(m.cut(data))
}

// unfolded writes lists beside one another as an object a shot.
func (m *Map) unfolded(data []byte) ([]byte, error) {
	enc, mark := m.enc.start(data)
	text, ok := enc.text(data[mark:])
	if !ok {
		return nil, errors.New("is not text in the map's encoding: set encoding in the map")
	}
	var keep [][]string
	for _, name := range m.named() {
		keep = append(keep, strings.Split(name, "."))
	}
	out, err := sheet.Unfold(strings.NewReader(text), keep)
	return append([]byte("\ufeff"), out...), err
}

// OfText is the map for the table of a workbook or a database that was written as
// lines, as samples hold it; of other files it is the map itself.
func (m *Map) OfText() *Map {
	if m.holder == "" {
		return m
	}
	plain := *m
	plain.holder = ""
	return &plain
}

// cut makes cells of a text's lines.
func (m *Map) cut(data []byte) ([][]string, error) {
	enc, mark := m.enc.start(data)
	text, ok := enc.text(data[mark:])
	if !ok {
		return nil, errors.New("is not text in the map's encoding: set encoding in the map")
	}
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	var rows [][]string
	for n, line := range strings.Split(text, "\n") {
		if n < m.csv.above || strings.TrimSpace(line) == "" || m.isComment(strings.TrimSpace(line)) {
			continue
		}
		cells, reason := m.csv.split(line, nil)
		if reason != "" {
			return nil, fmt.Errorf("line %d: %s", n+1, reason)
		}
		rows = append(rows, cells)
	}
	return rows, nil
}

// named are the columns that the map names.
func (m *Map) named() (want []string) {
	for _, c := range m.cols {
		if c.above == 0 && c.part == 0 && c.index < 0 {
			want = append(want, c.name)
		}
	}
	return want
}

// arranged writes rows with a row for each shot.
func (m *Map) arranged(rows [][]string, err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	if m.holder != "" && m.turned() { // rows stand where they stand: what a text's reader leaves out goes here
		rows = slices.DeleteFunc(rows[min(len(rows), m.csv.above):], func(r []string) bool { return strings.Join(r, "") == "" })
	}
	switch {
	case m.csv.transposed:
		rows = sheet.Turn(rows)
	case m.csv.long != nil:
		if rows, err = m.csv.long.Gather(rows, m.named()); err != nil {
			return nil, err
		}
	default:
		out, err := sheet.Lines(rows, m.csv.delimiter)
		return []byte("\ufeff" + out), err
	}
	delimiter := m.csv.delimiter
	if delimiter == spaces {
		delimiter = ' '
	}
	out, err := sheet.Text(rows, delimiter)
	return []byte("\ufeff" + out), err // the mark says that it is UTF-8, whatever the file was
}

// laid reads what is left of r and gives its table, where the map's files are
// read as a whole.
func (m *Map) laid(r io.Reader) (*bytes.Reader, error) {
	data, err := io.ReadAll(io.LimitReader(r, mostUnpacked+1))
	if err != nil {
		return nil, fmt.Errorf("read a table as a whole: %w", err)
	}
	if len(data) > mostUnpacked {
		return nil, fmt.Errorf("a table that is read as a whole has more than %d MB", mostUnpacked>>20)
	}
	out, err := m.plain(data)
	return bytes.NewReader(out), err
}

// laidFile is laid of a file by its path: what the writer of a database keeps
// beside it belongs to it.
func (m *Map) laidFile(path string) (*bytes.Reader, error) {
	if m.holder == holderDatabase {
		out, err := m.arranged(sheet.Database(path, m.table, m.named()))
		return bytes.NewReader(out), err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return m.laid(f)
}

// onlyFolders refuses a map whose files are read as a whole.
func (m *Map) onlyFolders() error {
	return fmt.Errorf("map %s: a workbook, a database, a table with csv.transposed or csv.long, and lists beside one another "+
		"are read as a whole: follow it as a folder, or one file as a document", m.file)
}
