package sample

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"fairlead/ingest/bay/sheet"
)

// MostHeld bounds a workbook or a database that is looked at whole.
const MostHeld = 64 << 20

// Of makes a sample of a file's bytes: of a workbook or a database the table that
// holds most measures, as lines. log is what stands in a database's log beside
// it; there need be none.
func Of(name string, data, log []byte) (File, error) {
	f := File{Name: name, Data: data, Holder: sheet.Kind(data)}
	var parts []string
	var read func(part string) ([][]string, error)
	var err error
	switch f.Holder {
	case "xlsx":
		parts, err = sheet.Sheets(bytes.NewReader(data))
		read = func(part string) ([][]string, error) { return sheet.Workbook(bytes.NewReader(data), part) }
	case "sqlite":
		b := sheet.Bytes{Main: data, Log: log}
		parts, err = b.Tables()
		read = func(part string) ([][]string, error) { return b.Read(sheet.Table{Name: part}, nil) }
	default:
		return f, nil
	}
	if err != nil {
		return f, f.unread(name, err)
	}
	best, most := [][]string(nil), -1
	for i, part := range parts {
		rows, err := read(part)
		if err != nil {
			return f, f.unread(name, err)
		}
		if len(rows) > maxRows+32 {
			rows = append(rows[:32:32], rows[len(rows)-maxRows:]...) // what stands above the table, and its end
		}
		if n := measures(rows); n > most {
			best, most, f.Part = rows, n, part
			if i == 0 && f.Holder == "xlsx" {
				f.Part = "" // the first is what a map reads that names none
			}
		}
	}
	text, err := sheet.Lines(best, ',')
	f.Data = []byte(text)
	return f, err
}

// unread says what a workbook or a database that can't be read is, and what to try.
func (f File) unread(name string, err error) error {
	if f.Holder == "sqlite" {
		return fmt.Errorf("%s: ask the database: %w: copy it while the device rests, with its -wal file beside it", name, err)
	}
	return fmt.Errorf("%s %w: have the device's program save it again, and take the whole file", name, err)
}

// measures counts the cells that are numbers with something behind the point.
func measures(rows [][]string) (n int) {
	for _, r := range rows {
		for _, c := range r {
			if _, err := strconv.ParseFloat(c, 64); err == nil && strings.Contains(c, ".") {
				n++
			}
		}
	}
	return n
}
