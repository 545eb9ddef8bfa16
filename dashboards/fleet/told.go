package fleet

import (
	"encoding/csv"
	"io"
	"strconv"

	"fairlead/ingest/contract/cell"
)

// Told is an answer outside the pages: its value is JSON for programs; people
// read words, spreadsheets rows.
type Told interface {
	WriteText(w io.Writer) error
	WriteCSV(w io.Writer) error
}

// number writes a number for CSV; nil is an empty cell.
func number(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'g', -1, 64)
}

// writeCSV writes rows under a header.
func writeCSV(w io.Writer, head []string, rows [][]string) error {
	out := csv.NewWriter(w)
	if err := out.Write(head); err != nil {
		return err
	}
	for i := range rows {
		cell.Row(rows[i])
	}
	return out.WriteAll(rows)
}
