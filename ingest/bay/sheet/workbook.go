package sheet

import (
	"fmt"
	"io"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// mostSheetBytes bounds what a workbook may unpack to: its parts are packed, and
// a small file may hold a large one.
const mostSheetBytes = 512 << 20

// Workbook reads the rows of a spreadsheet file (xlsx): of its first sheet that is
// shown, or of those whose names match a pattern (*, ?, [a-z]), one after the
// other in the workbook's order. A row keeps its place, so that the line that a
// fault names is the row that a person sees. Numbers are written with a decimal
// point whatever the cell shows, dates as 2006-01-02 15:04:05, of a cell that
// shows a date or a time alone as 2006-01-02 or 15:04:05; a formula is what it came
// to when the file was saved.
func Workbook(r io.Reader, sheets string) (rows [][]string, err error) {
	defer func() {
		if p := recover(); p != nil { // no file may stop the collector, whatever the library makes of it
			rows, err = nil, fmt.Errorf("is no workbook that can be read: %v", p)
		}
	}()
	f, err := excelize.OpenReader(r, excelize.Options{UnzipSizeLimit: mostSheetBytes, UnzipXMLSizeLimit: mostSheetBytes})
	if err != nil {
		return nil, fmt.Errorf("is no whole workbook (xlsx): %w", err)
	}
	defer f.Close()
	names, err := chosen(f, sheets)
	if err != nil {
		return nil, err
	}
	dates := dates{f: f, known: map[int]dateKind{}}
	if p, err := f.GetWorkbookProps(); err == nil && p.Date1904 != nil {
		dates.from1904 = *p.Date1904
	}
	var out [][]string
	for i, name := range names {
		rows, err := f.GetRows(name, excelize.Options{RawCellValue: true})
		if err != nil {
			return nil, fmt.Errorf("sheet %q can't be read: %w", name, err)
		}
		for r, row := range rows {
			for c, text := range row {
				row[c] = dates.cell(name, c+1, r+1, text)
			}
		}
		if i > 0 {
			out = append(out, nil) // a blank line ends what stood before
		}
		out = append(out, rows...)
	}
	return out, nil
}

// Sheets lists the names of a workbook's sheets that are shown, in its order.
func Sheets(r io.Reader) (names []string, err error) {
	f, err := excelize.OpenReader(r, excelize.Options{UnzipSizeLimit: mostSheetBytes, UnzipXMLSizeLimit: mostSheetBytes})
	if err != nil {
		return nil, fmt.Errorf("is no whole workbook (xlsx): %w", err)
	}
	defer f.Close()
	for _, name := range f.GetSheetList() {
		if shown, err := f.GetSheetVisible(name); err == nil && shown {
			names = append(names, name)
		}
	}
	return names, nil
}

// chosen are the sheets that are read.
func chosen(f *excelize.File, pattern string) (names []string, err error) {
	all := f.GetSheetList()
	for _, name := range all {
		if pattern != "" && strings.EqualFold(pattern, name) {
			return []string{name}, nil // whatever signs a name has
		}
	}
	for _, name := range all {
		shown, err := f.GetSheetVisible(name)
		if pattern == "" && err == nil && shown {
			return []string{name}, nil
		}
		if ok, _ := path.Match(strings.ToLower(pattern), strings.ToLower(name)); ok {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("has no sheet %q: its sheets are %s", pattern, strings.Join(all, ", "))
	}
	return names, nil
}

// dateKind is what the number of a cell stands for.
type dateKind int

const (
	isNumber dateKind = iota
	isMoment
	isDate
	isTime
)

// dates tells the cells that show a date from those that show a number: a
// workbook holds both as numbers, and the cell's style says which it is.
type dates struct {
	f        *excelize.File
	from1904 bool
	known    map[int]dateKind // by style
}

// cell is what a cell says, as text.
func (d *dates) cell(sheet string, column, row int, text string) string {
	if text == "" || text[0] > '9' && text[0] != '-' {
		return text
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text
	}
	name, err := excelize.CoordinatesToCellName(column, row)
	if err != nil {
		return text
	}
	if kind, err := d.f.GetCellType(sheet, name); err != nil || kind == excelize.CellTypeSharedString ||
		kind == excelize.CellTypeInlineString {
		return text // a number that somebody wrote as text, perhaps with zeros in front
	}
	switch kind := d.kind(sheet, name); {
	case kind == isNumber || v < 0:
		return tidy(text, v)
	default:
		return d.written(v, kind)
	}
}

// written is a date as text.
func (d *dates) written(v float64, kind dateKind) string {
	if v >= 2958466 { // the year 10000, which spreadsheets do not have
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	day := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC) // with the leap day that 1900 did not have counted, as they count
	if d.from1904 {
		day = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	days, part := math.Modf(v)
	at := day.AddDate(0, 0, int(days)).Add(time.Duration(math.Round(part*86_400_000)) * time.Millisecond)
	clock := "15:04:05"
	if at.Nanosecond() != 0 {
		clock = "15:04:05.000"
	}
	switch {
	case kind == isTime && v < 1:
		return at.Format(clock)
	case kind == isDate && v == float64(int64(v)):
		return at.Format(time.DateOnly)
	}
	return at.Format(time.DateOnly + " " + clock)
}

// kind is what a cell's style makes of its number.
func (d *dates) kind(sheet, cell string) dateKind {
	id, err := d.f.GetCellStyle(sheet, cell)
	if err != nil || id == 0 {
		return isNumber
	}
	kind, ok := d.known[id]
	if !ok {
		if style, err := d.f.GetStyle(id); err == nil {
			kind = dateFormat(style)
		}
		d.known[id] = kind
	}
	return kind
}

// Formats of dates and of times that have a number and no text of their own.
var (
	dateNumbers = []int{14, 15, 16, 17, 27, 28, 29, 30, 31, 36, 50, 51, 52, 53, 54, 57, 58, 71, 72, 73, 74}
	timeNumbers = []int{18, 19, 20, 21, 32, 33, 34, 35, 45, 46, 47, 55, 56, 75, 76, 77, 78, 79, 80}
)

// dateFormat reads a number format: what stands in quotes or brackets, or behind
// a backslash, is no sign of it.
func dateFormat(style *excelize.Style) dateKind {
	if style.CustomNumFmt == nil {
		switch {
		case slices.Contains(dateNumbers, style.NumFmt):
			return isDate
		case slices.Contains(timeNumbers, style.NumFmt):
			return isTime
		case style.NumFmt == 22 || style.NumFmt == 81:
			return isMoment
		}
		return isNumber
	}
	date, clock, quoted, bracket, skip := false, false, false, false, false
	for _, r := range strings.ToLower(*style.CustomNumFmt) {
		switch {
		case skip:
			skip = false
		case r == '\\' || r == '_':
			skip = true
		case r == '"':
			quoted = !quoted
		case quoted:
		case r == '[' || r == ']':
			bracket = r == '['
		case bracket:
		case r == 'y' || r == 'd':
			date = true
		case r == 'h' || r == 's':
			clock = true
		case r == '0' || r == '#' || r == ';':
			if !date && !clock {
				return isNumber
			}
		}
	}
	switch {
	case date && clock:
		return isMoment
	case date:
		return isDate
	case clock:
		return isTime
	}
	return isNumber
}

// tidy writes a number with the fifteen digits that spreadsheets show: a file
// holds 118.40000000000001 where somebody wrote 118.4.
func tidy(text string, v float64) string {
	if len(text) < 16 && !strings.ContainsAny(text, "eE") {
		return text
	}
	short := strconv.FormatFloat(v, 'g', 15, 64)
	if again, err := strconv.ParseFloat(short, 64); err == nil {
		return strconv.FormatFloat(again, 'f', -1, 64)
	}
	return text
}
