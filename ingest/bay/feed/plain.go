package feed

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"fairlead/ingest/bay/sheet"
)

// Whole says that a file can be read only as a whole: a shot is no run of its
// bytes. Such files are followed in a folder.
func (m *Map) Whole() bool { return m.csv.transposed || m.csv.long != nil }

// plain writes the table of a file that is read as a whole with a row for each
// shot, as the map then reads it.
func (m *Map) plain(data []byte) ([]byte, error) {
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
	if m.csv.transposed {
		rows = sheet.Turn(rows)
	} else {
		var want []string
		for _, c := range m.cols {
			if c.above == 0 && c.index < 0 {
				want = append(want, c.name)
			}
		}
		var err error
		if rows, err = m.csv.long.Gather(rows, want); err != nil {
			return nil, err
		}
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

// onlyFolders refuses a map whose files are read as a whole.
func (m *Map) onlyFolders() error {
	return fmt.Errorf("map %s: a table with csv.transposed or csv.long is read as a whole: follow it as a folder", m.file)
}
