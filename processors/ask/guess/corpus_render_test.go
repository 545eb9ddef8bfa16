package guess

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"time"
	"unicode/utf16"

	"fairlead/ingest/contract/unit"
)

// cell writes a value, and says what it then is; ok is false for a missing one.
func (m *manner) cell(r *rand.Rand, c trueColumn, v float64, row int) (text string, si float64, ok bool) {
	never := map[string]bool{"ball_speed": true, "carry": true, "launch_angle": true}
	if !never[c.field] && row%5 == 3 && r.IntN(3) == 0 &&
		((m.missing != "0.0" && m.missing != "0,0") || !mirrors[c.field] && c.field != "attack_angle") {
		return m.missing, 0, false
	}
	q := quantityOf(c.field)
	conv, err := unit.Lookup(q, c.unit)
	if err != nil {
		panic(err)
	}
	scale := math.Pow(10, float64(c.digits))
	n := math.Round(conv.From(v)*scale) / scale
	si = conv.To(n)
	shown := n
	sided := mirrors[c.field]
	if sided && m.side == "minus" {
		shown = -n
	}
	before, after := "", ""
	if sided && n != 0 {
		side := [][2]string{{"L", "R"}, {"left", "right"}}[map[bool]int{true: 1}[m.side == "word"]]
		mark := side[map[bool]int{true: 1}[n > 0]]
		switch m.side {
		case "letter", "word":
			shown, after = math.Abs(n), " "+mark
		case "front":
			shown, before = math.Abs(n), mark
		}
	}
	text = strconv.FormatFloat(shown, 'f', c.digits, 64)
	if m.comma() {
		text = strings.ReplaceAll(text, ".", ",")
		if c.unit == "rpm" && len(text) > 3 && text[0] != '-' {
			text = text[:len(text)-3] + "." + text[len(text)-3:]
		}
	}
	if m.unitAt == "cell" && c.unit != "" {
		after = " " + c.unit + after
	}
	if m.dialect == "pairs" {
		after = strings.ReplaceAll(after, " ", "")
	}
	return before + text + after, si, true
}

func (m *manner) comma() bool { return m.dialect == "semicolon" }

func (m *manner) clockCells(unix float64) (heads, cells []string) {
	t := time.Unix(int64(unix), 0)
	switch m.clock {
	case "iso":
		return []string{"Time"}, []string{t.Format("2006-01-02 15:04:05")}
	case "rfc":
		return []string{"time"}, []string{t.UTC().Format(time.RFC3339)}
	case "millis":
		return []string{"timestamp"}, []string{fmt.Sprint(t.UnixMilli())}
	case "day first":
		return []string{"Date Time"}, []string{t.Format("02.01.2006 15:04:05")}
	case "month first":
		return []string{"When"}, []string{t.Format("1/2/2006 3:04:05 PM")}
	case "two columns":
		return []string{"Date", "Time"}, []string{t.Format("02/01/2006"), t.Format("15:04:05")}
	}
	return nil, nil
}

func (m *manner) idCells(r *rand.Rand, no int) (heads, cells []string) {
	switch m.id {
	case "number":
		return []string{"Shot"}, []string{fmt.Sprint(no)}
	case "uuid":
		return []string{"id"}, []string{fmt.Sprintf("%08x-%04x-4%03x-a%03x-%012x", r.Uint32(), r.IntN(65536), r.IntN(4096), r.IntN(4096),
			r.Uint64()&0xffffffffffff)}
	case "session":
		return []string{"Session", "Shot No"}, []string{"S1", fmt.Sprint(no)}
	}
	return nil, nil
}

// render writes the rows in the dialect.
func (m *manner) render(r *rand.Rand, cols []trueColumn, rows [][]string, truth []map[string]float64, i int) []specimenFile {
	var heads, units []string
	var table [][]string
	for k := range rows {
		var row []string
		h1, c1 := m.idCells(r, k+1)
		h2, c2 := m.clockCells(truth[k]["time"])
		row = append(append(append(row, c1...), c2...), "Wood")
		if k == 0 {
			heads = append(append(append(heads, h1...), h2...), "Club Used")
			units = make([]string, len(heads))
		}
		table = append(table, append(row, rows[k]...))
	}
	for _, c := range cols {
		head := c.head
		switch {
		case c.unit == "":
		case m.unitAt == "bracket":
			head += " [" + c.unit + "]"
		case m.unitAt == "suffix" && (m.tabular() || m.dialect == "blanks"):
			head += " " + c.unit
		case m.unitAt == "suffix":
			head += "_" + strings.ReplaceAll(c.unit, "/", "")
		}
		heads, units = append(heads, head), append(units, c.unit)
	}
	if m.dialect == "blanks" {
		for k := range heads {
			heads[k] = strings.ReplaceAll(heads[k], " ", "_")
		}
	}
	file := func(ext, text string) []specimenFile {
		return []specimenFile{{fmt.Sprintf("export%d.%s", i, ext), text}}
	}
	sep := map[string]string{"comma": ",", "semicolon": ";", "tab": "\t", "pipe": "|", "utf16": "\t", "blanks": "  "}[m.dialect]
	switch m.dialect {
	case "comma", "semicolon", "tab", "pipe", "utf16", "blanks", "fixed":
		return file("csv", m.table(heads, units, table, sep))
	case "ndjson", "nested", "list", "pretty":
		return file("json", m.json(heads, table, len(heads)-len(cols)))
	case "attributes", "elements":
		return file("xml", m.xml(heads, table))
	case "pairs":
		var b strings.Builder
		for _, row := range table {
			for k := range row {
				fmt.Fprintf(&b, "%s=%s;", heads[k], row[k])
			}
			b.WriteString("\n")
		}
		return file("log", b.String())
	}
	var b strings.Builder
	for _, row := range table {
		for k := range row {
			fmt.Fprintf(&b, "%s: %s\n", heads[k], row[k])
		}
		b.WriteString("\n")
	}
	return file("txt", b.String())
}

func (m *manner) table(heads, units []string, table [][]string, sep string) string {
	var b strings.Builder
	if m.noise == 1 {
		b.WriteString("Practice export\nPlayer" + sep + "A. Miller\n\n")
	}
	if m.noise == 3 {
		b.WriteString("# written by the bay\n")
	}
	if m.side == "stated" {
		b.WriteString("Sides: positive = right of target\n")
	}
	width := func(k int) int {
		w := len([]rune(heads[k]))
		for _, row := range table {
			w = max(w, len([]rune(row[k])))
		}
		return max(w, len(units[k])) + 2
	}
	write := func(cells []string) {
		for k, c := range cells {
			switch {
			case m.dialect == "fixed":
				b.WriteString(c + strings.Repeat(" ", width(k)-len([]rune(c))))
				continue
			case strings.Contains(c, sep):
				c = `"` + c + `"`
			}
			if k > 0 {
				b.WriteString(sep)
			}
			b.WriteString(c)
		}
		b.WriteString("\n")
	}
	write(heads)
	if m.unitAt == "row" {
		write(units)
	}
	for k, row := range table {
		write(row)
		if m.noise == 2 && k == len(table)-1 {
			mean := make([]string, len(row))
			copy(mean, row)
			mean[0] = "Average"
			write(mean)
		}
	}
	if m.dialect != "utf16" {
		return b.String()
	}
	out := []byte{0xFF, 0xFE}
	for _, u := range utf16.Encode([]rune(b.String())) {
		out = append(out, byte(u), byte(u>>8))
	}
	return string(out)
}

func (m *manner) json(heads []string, table [][]string, own int) string {
	var items []string
	for _, row := range table {
		var parts []string
		var inner []string
		for k, c := range row {
			value := strconv.Quote(c)
			if _, err := strconv.ParseFloat(c, 64); err == nil && k >= own {
				value = c
			}
			if c == "" {
				value = "null"
			}
			part := strconv.Quote(heads[k]) + ": " + value
			if m.dialect == "nested" && k >= own {
				inner = append(inner, part)
			} else {
				parts = append(parts, part)
			}
		}
		if inner != nil {
			parts = append(parts, `"data": {`+strings.Join(inner, ", ")+"}")
		}
		by := ", "
		if m.dialect == "pretty" {
			by = ",\n    "
		}
		items = append(items, "{"+strings.Join(parts, by)+"}")
	}
	switch m.dialect {
	case "list":
		return "[" + strings.Join(items, ",\n") + "]"
	case "pretty":
		return "{\n  \"version\": 3,\n  \"records\": [\n   " + strings.Join(items, ",\n   ") + "\n  ]\n}\n"
	}
	return strings.Join(items, "\n") + "\n"
}

func (m *manner) xml(heads []string, table [][]string) string {
	var b strings.Builder
	b.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<session>\n")
	name := func(s string) string {
		return strings.Trim(strings.NewReplacer(" ", "_", "[", "_", "]", "", "/", "").Replace(s), "_")
	}
	for _, row := range table {
		if m.dialect == "attributes" {
			b.WriteString("  <hit")
			for k, c := range row {
				fmt.Fprintf(&b, " %s=%q", name(heads[k]), c)
			}
			b.WriteString("/>\n")
			continue
		}
		b.WriteString("  <hit>\n")
		for k, c := range row {
			fmt.Fprintf(&b, "    <%s>%s</%s>\n", name(heads[k]), c, name(heads[k]))
		}
		b.WriteString("  </hit>\n")
	}
	b.WriteString("</session>\n")
	return b.String()
}
