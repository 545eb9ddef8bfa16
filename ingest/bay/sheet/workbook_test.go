package sheet

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// book makes a workbook: of each sheet its cells.
func book(t testing.TB, sheets map[string]map[string]any) *bytes.Buffer {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	short, long := "dd.mm.yyyy", `dd.mm.yyyy" um "hh:mm:ss`
	date, err1 := f.NewStyle(&excelize.Style{CustomNumFmt: &short})
	moment, err2 := f.NewStyle(&excelize.Style{CustomNumFmt: &long})
	clock, err3 := f.NewStyle(&excelize.Style{NumFmt: 21})
	percent, err4 := f.NewStyle(&excelize.Style{NumFmt: 10})
	var wrong []error
	for name, cells := range sheets {
		_, err := f.NewSheet(name)
		wrong = append(wrong, err)
		for at, v := range cells {
			kind, value, styled := "", v, false
			if s, ok := v.(string); ok {
				if kind, s, styled = strings.Cut(s, "|"); styled {
					value = map[string]float64{"46143": 46143, "46143.38197": 46143.38197, "0.38197": 0.38197, "0.45": 0.45}[s]
				}
			}
			if s, ok := value.(string); ok && strings.HasPrefix(s, "=") {
				wrong = append(wrong, f.SetCellFormula(name, at, s))
				continue
			}
			wrong = append(wrong, f.SetCellValue(name, at, value))
			if style, ok := map[string]int{"date": date, "moment": moment, "clock": clock, "percent": percent}[kind]; ok && styled {
				wrong = append(wrong, f.SetCellStyle(name, at, at, style))
			}
		}
	}
	var out bytes.Buffer
	wrong = append(wrong, err1, err2, err3, err4, f.DeleteSheet("Sheet1"), f.Write(&out))
	for _, err := range wrong {
		if err != nil {
			t.Fatal(err)
		}
	}
	return &out
}

// TestAWorkbook: rows keep their places, numbers have points, dates are dates.
func TestAWorkbook(t *testing.T) {
	b := book(t, map[string]map[string]any{"Session": {
		"A1": "Harbour Row, north", "A3": "No", "B3": "Day", "C3": "At", "D3": "Moment", "E3": "Ball, mph", "F3": "Humidity",
		"A4": 1, "B4": "date|46143", "C4": "clock|0.38197", "D4": "moment|46143.38197", "E4": 118.4 + 1e-14, "F4": "percent|0.45",
		"A5": "007", "E5": 97.25,
	}})
	rows, err := Workbook(bytes.NewReader(b.Bytes()), "")
	if err != nil {
		t.Fatal(err)
	}
	text, err := Lines(rows, ',')
	if err != nil {
		t.Fatal(err)
	}
	const want = "Harbour Row, north\n\nNo,Day,At,Moment,\"Ball, mph\",Humidity\n" +
		"1,2026-05-01,09:10:02.208,2026-05-01 09:10:02.208,118.4,0.45\n007,,,,97.25,\n"
	if text != want {
		t.Errorf("read\n%s\nwant\n%s", text, want)
	}
	half := b.Bytes()[:b.Len()/2]
	if _, err := Workbook(bytes.NewReader(half), ""); err == nil || !strings.Contains(err.Error(), "no whole workbook") {
		t.Errorf("half a workbook: %v", err)
	}
}

// TestSheetsOfAWorkbook: one by name, several by pattern, and which there are.
func TestSheetsOfAWorkbook(t *testing.T) {
	b := book(t, map[string]map[string]any{"Day 1": {"A1": "x"}, "Day 2": {"A1": "y"}, "Notes": {"A1": "z"}})
	for pattern, want := range map[string]string{"day ?": "xy", "Notes": "z"} {
		rows, err := Workbook(bytes.NewReader(b.Bytes()), pattern)
		got := []byte(strings.Join(slices.Concat(rows...), ""))
		slices.Sort(got)
		if err != nil || string(got) != want {
			t.Errorf("%s: %q, %v", pattern, got, err)
		}
	}
	if _, err := Workbook(bytes.NewReader(b.Bytes()), "Shots"); err == nil || !strings.Contains(err.Error(), "Notes") {
		t.Errorf("a sheet that is not there: %v", err)
	}
}

// FuzzWorkbook gives any bytes: rows or an error, and an end.
func FuzzWorkbook(f *testing.F) {
	f.Add(book(f, map[string]map[string]any{"S": {"A1": "No", "B1": "Ball", "A2": 1, "B2": 118.4}}).Bytes())
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, data []byte) {
		begun := time.Now()
		rows, err := Workbook(bytes.NewReader(data), "")
		if err == nil {
			_, err = Lines(rows, ',')
		}
		if err == nil && time.Since(begun) > time.Minute {
			t.Error("it took a minute")
		}
	})
}
