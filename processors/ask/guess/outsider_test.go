package guess

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/unit"
)

// outsiders write in kinds that neither the corpus nor the strangers have:
// workbooks, databases, logs, sections, tables with two rows of names, and words
// of other tongues. They were made before the guess was looked at again.

// col is a column of one: a field, its name there, its unit and digits. A
// field in brackets is none of the contract.
type col struct {
	field, name, unit string
	digits            int
}

// value is a measure as it is written, and what it then says in SI.
func (c col) value(shot map[string]float64) (text string, si float64) {
	conv, err := unit.Lookup(quantityOf(c.field), c.unit)
	if err != nil {
		panic(err)
	}
	scale := math.Pow(10, float64(c.digits))
	n := math.Round(conv.From(shot[c.field])*scale) / scale
	return strconv.FormatFloat(n, 'f', c.digits, 64), conv.To(n)
}

// cols reads "field|name|unit|digits; ...".
func cols(text string) (out []col) {
	for _, part := range strings.Split(text, ";") {
		w := strings.Split(strings.TrimSpace(part), "|")
		digits, err := strconv.Atoi(w[3])
		if err != nil {
			panic(err)
		}
		out = append(out, col{w[0], w[1], w[2], digits})
	}
	return out
}

// outsider is one kind: it writes shots whose measures it is given as texts.
type outsider struct {
	name   string
	cols   []col
	comma  bool // decimal
	time   bool
	handed []string                                            // see specimen
	gaps   string                                              // a field that every third shot lacks
	alter  func(k int, truth map[string]float64, row []string) // of the shots that something is otherwise with
	write  func(t testing.TB, c []col, rows [][]string, at []time.Time, r *rand.Rand) []specimenFile
}

func one(name, text string) []specimenFile { return []specimenFile{{name, text}} }

// lined writes a table.
func lined(sep string, head []string, rows [][]string, at []time.Time, layout string) string {
	var b strings.Builder
	b.WriteString(strings.Join(head, sep) + "\n")
	for i, r := range rows {
		cells := []string{fmt.Sprint(i + 1)}
		if layout != "" {
			cells = append(cells, at[i].Format(layout))
		}
		b.WriteString(strings.Join(append(cells, r...), sep) + "\n")
	}
	return b.String()
}

func names(c []col, unitStyle string) (out []string) {
	for _, c := range c {
		n := c.name
		if c.unit != "" && unitStyle != "" {
			n = fmt.Sprintf(unitStyle, c.name, c.unit)
		}
		out = append(out, n)
	}
	return out
}

const fullEnglish = "clubhead_speed|Club Speed|mph|1; ball_speed|Ball Speed|mph|1; launch_angle|Launch Angle|deg|1; " +
	"launch_direction|Launch Direction|deg|1; spin_rate|Spin Rate|rpm|0; spin_axis|Spin Axis|deg|1; carry|Carry|yd|1; " +
	"offline|Offline|yd|1; apex|Apex|ft|0; landing_angle|Descent|deg|1"

var outsiderKinds = []outsider{
	{name: "workbook-title-units", cols: cols(fullEnglish), comma: false, time: true,
		write: func(t testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("session.xlsx", workbook(t, at, append([][]any{{"Practice report"}, {"Player", "A. Reed"}, {}},
				gridOf(append([]string{"Shot", "Date"}, names(c, "")...), units(c, 2), rows, at)...)))
		}},
	{name: "workbook-brackets-averages", cols: cols(fullEnglish), comma: false, time: true,
		write: func(t testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			g := gridOf(append([]string{"#", "Time"}, names(c, "%s [%s]")...), nil, rows, at)
			return one("export.xlsx", workbook(t, at, append(g, []any{"Average", "", 1.5, 2.5})))
		}},
	{name: "database-snake", cols: cols("ball_speed|ball_speed_mps|m/s|3; clubhead_speed|club_head_speed_mps|m/s|3; " +
		"launch_angle|launch_angle_deg|deg|2; " +
		"launch_direction|azimuth_deg|deg|2; spin_rate|spin_rpm|rpm|0; spin_axis|spin_axis_deg|deg|2; carry|carry_m|m|2; " +
		"offline|offline_m|m|2"), comma: false, time: true,
		write: func(t testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("shots.db", database(t, c, rows, at, "created_ms INTEGER", func(a time.Time) any { return a.UnixMilli() }))
		}},
	{name: "database-camel", cols: cols("ball_speed|BallSpeed|mph|1; launch_angle|VLA|deg|1; launch_direction|HLA|deg|1; " +
		"spin_rate|TotalSpin|rpm|0; " +
		"spin_axis|SpinAxis|deg|1; carry|CarryDistance|yd|1; total|TotalDistance|yd|1"), comma: false, time: true,
		write: func(t testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("data.sqlite", database(t, c, rows, at, "HitAt TEXT", func(a time.Time) any { return a.UTC().Format(time.RFC3339) }))
		}},
	{name: "log-lines", cols: cols("ball_speed|bs|m/s|2; clubhead_speed|chs|m/s|2; launch_angle|vla|deg|2; launch_direction|hla|deg|2; " +
		"spin_rate|spin|rpm|0; " +
		"carry|carry|m|1"), comma: false, time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			var b strings.Builder
			for i, r := range rows {
				fmt.Fprintf(&b, "ts=%s level=info msg=shot id=%d", at[i].UTC().Format(time.RFC3339), i+1)
				for k, v := range r {
					fmt.Fprintf(&b, " %s=%s%s", c[k].name, v, c[k].unit)
				}
				b.WriteString("\n")
			}
			return one("device.log", b.String())
		}},
	{name: "sections", cols: cols("ball_speed|Speed|mph|1; launch_angle|Launch angle|deg|1; launch_direction|Launch direction|deg|1; " +
		"spin_rate|Backspin total|rpm|0; " +
		"carry|Carry|yd|1"), comma: false, time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) (out []specimenFile) {
			for i, r := range rows {
				text := fmt.Sprintf("[Shot]\nNumber = %d\nTaken = %s\n\n[Ball]\n", i+1, at[i].Format("2006-01-02 15:04:05"))
				for k, v := range r {
					text += fmt.Sprintf("%s = %s %s\n", c[k].name, v, c[k].unit)
				}
				out = append(out, specimenFile{fmt.Sprintf("shot%04d.ini", i+1), text})
			}
			return out
		}},
	{name: "xml-unit-attributes", cols: cols("ball_speed|BallSpeed|mph|1; clubhead_speed|ClubSpeed|mph|1; launch_angle|LaunchAngle|deg|1; " +
		"launch_direction|SideAngle|deg|1; spin_rate|Spin|rpm|0; carry|Carry|yd|1"), comma: false, time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<Session xmlns=\"urn:example:range\">\n"
			for i, r := range rows {
				b += fmt.Sprintf("  <Stroke Number=\"%d\" Time=\"%s\">\n", i+1, at[i].UTC().Format(time.RFC3339))
				for k, v := range r {
					b += fmt.Sprintf("    <%s unit=\"%s\">%s</%s>\n", c[k].name, c[k].unit, v, c[k].name)
				}
				b += "  </Stroke>\n"
			}
			return one("session.xml", b+"</Session>\n")
		}},
	{name: "json-array-growing", cols: cols("ball_speed|ballSpeed|m/s|3; launch_angle|launchAngle|deg|2; " +
		"launch_direction|launchDirection|deg|2; " +
		"spin_rate|spinRate|rpm|0; spin_axis|spinAxis|deg|2; carry|carryDistance|m|2"), comma: false, time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			var shots []string
			for i, r := range rows {
				o := map[string]any{"id": fmt.Sprintf("b%05x", i*7919+17), "timestamp": at[i].UnixMilli()}
				m := map[string]any{}
				for k, v := range r {
					m[c[k].name] = map[string]any{"value": json.Number(v), "unit": c[k].unit}
				}
				o["measurements"] = m
				text, err := json.Marshal(o)
				if err != nil {
					panic(err)
				}
				shots = append(shots, string(text))
			}
			return one("shots.json", "[\n"+strings.Join(shots, ",\n")+",\n") // its end is yet to come
		}},
	{name: "dutch-semicolons", cols: cols("ball_speed|Balsnelheid|km/h|1; clubhead_speed|Clubsnelheid|km/h|1; " +
		"launch_angle|Lanceerhoek|deg|1; " +
		"launch_direction|Lanceerrichting|deg|1; spin_rate|Totale spin|rpm|0; carry|Carry-afstand|m|1; offline|Zijwaartse afwijking|m|1; " +
		"apex|Maximale hoogte|m|1"), comma: true, time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("sessie.csv", lined(";", append([]string{"Nr", "Tijdstip"}, names(c, "%s (%s)")...), rows, at, "02-01-2006 15:04:05"))
		}},
	{name: "portuguese", cols: cols("ball_speed|Velocidade da bola|km/h|1; clubhead_speed|Velocidade do taco|km/h|1; " +
		"launch_angle|Ângulo de lançamento|deg|1; " +
		"launch_direction|Direção de lançamento|deg|1; spin_rate|Rotação|rpm|0; carry|Distância de voo|m|1; " +
		"total|Distância total|m|1; offline|Desvio lateral|m|1"), comma: true, time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("sessao.csv", lined(";", append([]string{"Tacada", "Data"}, names(c, "%s [%s]")...), rows, at, "2006-01-02T15:04:05"))
		}},
	{name: "abbreviations", cols: cols("clubhead_speed|CHS|mph|1; ball_speed|BS|mph|1; smash_factor|SF||2; " +
		"launch_angle|LA|deg|1; launch_direction|LD|deg|1; " +
		"spin_rate|SR|rpm|0; spin_axis|SA|deg|1; carry|CD|yd|1; total|TD|yd|1; offline|OL|yd|1; hang_time|HT|s|2"), comma: false, time: false,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			return one("out.csv", lined(",", append([]string{"N"}, names(c, "")...), rows, at, ""))
		}},
	{name: "grouped-names", cols: cols(fullEnglish), comma: false, time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			above := ",,Club,Ball,,,,,Flight,,,\n"
			return one("report.csv", above+lined(",", append([]string{"Shot No.", "Date/Time"}, names(c, `"%s, %s"`)...), rows, at,
				"2006-01-02 15:04:05"))
		}},
	{name: "ruled-table", cols: cols(fullEnglish), comma: false, time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			text := lined(" | ", append([]string{"No", "Time"}, names(c, "%s (%s)")...), rows, at, "2006-01-02 15:04:05")
			lines := strings.Split(strings.TrimSpace(text), "\n")
			out := "| " + lines[0] + " |\n|" + strings.Repeat("---|", len(c)+2) + "\n"
			for _, l := range lines[1:] {
				out += "| " + l + " |\n"
			}
			return one("table.md", out)
		}},
	{name: "fixed-width", cols: cols("ball_speed|BALLSPD|mph|1; clubhead_speed|CLUBSPD|mph|1; launch_angle|LAUNCH|deg|1; " +
		"launch_direction|AZIM|deg|1; " +
		"spin_rate|SPIN|rpm|0; carry|CARRY|yd|1; offline|OFFLN|yd|1"), comma: false, time: true,
		write: func(_ testing.TB, c []col, rows [][]string, at []time.Time, _ *rand.Rand) []specimenFile {
			b := fmt.Sprintf("%-5s%-21s", "SHOT", "DATE-TIME")
			for _, k := range c {
				b += fmt.Sprintf("%9s", k.name)
			}
			b += "\n"
			for i, r := range rows {
				b += fmt.Sprintf("%-5d%-21s", i+1, at[i].Format("2006-01-02 15:04:05"))
				for _, v := range r {
					b += fmt.Sprintf("%9s", v)
				}
				b += "\n"
			}
			return one("listing.txt", b)
		}},
}

func units(c []col, before int) []string {
	out := make([]string, before)
	for _, c := range c {
		out = append(out, c.unit)
	}
	return out
}

// gridOf makes the cells of a workbook: numbers are numbers, times are dates.
func gridOf(head, unitRow []string, rows [][]string, at []time.Time) (out [][]any) {
	texts := func(list []string) (row []any) {
		for _, s := range list {
			row = append(row, s)
		}
		return row
	}
	out = append(out, texts(head))
	if unitRow != nil {
		out = append(out, texts(unitRow))
	}
	for i, r := range rows {
		row := []any{i + 1, at[i]}
		for _, v := range r {
			n, err := strconv.ParseFloat(v, 64)
			if err != nil {
				panic(err)
			}
			row = append(row, n)
		}
		out = append(out, row)
	}
	return out
}

func workbook(t testing.TB, _ []time.Time, grid [][]any) string {
	f := excelize.NewFile()
	defer f.Close()
	for i, row := range grid {
		for k := range row {
			if at, ok := row[k].(time.Time); ok {
				_, offset := at.Zone()
				row[k] = at.UTC().Add(time.Duration(offset) * time.Second)
			}
		}
		if err := f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &row); err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func database(t testing.TB, c []col, rows [][]string, at []time.Time, clock string, when func(time.Time) any) string {
	dir, err := os.MkdirTemp("", "outsider")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "x.db")
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	run := func(statement string, args ...any) {
		if _, err := db.Exec(statement, args...); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
	list, marks := "", ""
	for _, k := range c {
		list += ", " + k.name + " REAL"
		marks += ", ?"
	}
	run("CREATE TABLE settings (key TEXT, value TEXT)")
	run("INSERT INTO settings VALUES ('version', '3'), ('lang', 'en')")
	run("CREATE TABLE shots (id INTEGER PRIMARY KEY, " + clock + list + ")")
	for i, r := range rows {
		args := []any{i + 1, when(at[i])}
		for _, v := range r {
			args = append(args, v)
		}
		run("INSERT INTO shots VALUES (?, ?"+marks+")", args...)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// outsiders makes n of a list's kinds, every kind in turn.
func outsiders(t testing.TB, kinds []outsider, n int, seed uint64) (out []specimen) {
	r := rand.New(rand.NewPCG(seed, 41))
	for i := range n {
		o := kinds[i%len(kinds)]
		s := specimen{name: fmt.Sprintf("%03d-%s", i, o.name)}
		var rows [][]string
		var at []time.Time
		for k, shot := range trueShots(r, 8+r.IntN(8)) {
			kept, row := map[string]float64{}, []string(nil)
			for _, c := range o.cols {
				text, si := c.value(shot)
				if o.gaps == c.field && k%3 == 1 {
					row = append(row, "")
					continue
				}
				kept[c.field] = si
				if o.comma {
					text = strings.ReplaceAll(text, ".", ",")
				}
				row = append(row, text)
			}
			if o.time {
				kept["time"] = shot["time"]
			}
			if o.alter != nil {
				o.alter(k, kept, row)
			}
			s.truth, rows, at = append(s.truth, kept), append(rows, row), append(at, time.Unix(int64(shot["time"]), 0))
		}
		s.handed = o.handed
		s.files = o.write(t, o.cols, rows, at, r)
		out = append(out, s)
	}
	return out
}

// TestOutsiders scores them.
func TestOutsiders(t *testing.T) {
	t.Logf("%+v", score(t, outsiders(t, outsiderKinds, len(outsiderKinds), 1)))
}

// TestADatabaseInUse: of one that its program has open, what stands in its log
// alone is seen too, and the drafted map reads it.
func TestADatabaseInUse(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shots.db")
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	run := func(statement string, args ...any) {
		if _, err := db.Exec(statement, args...); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
	run("PRAGMA journal_mode=wal")
	run("CREATE TABLE setting (name TEXT)")
	run("CREATE TABLE shot (id INTEGER PRIMARY KEY, taken_at INTEGER, ball_speed_mph REAL, launch_angle_deg REAL, spin_rpm REAL, " +
		"carry_yd REAL)")
	for i, shot := range trueShots(rand.New(rand.NewPCG(3, 3)), 9) {
		run("INSERT INTO shot VALUES (?, ?, ?, ?, ?, ?)", i+1, int64(shot["time"]), math.Round(shot["ball_speed"]/.044704)/10,
			shot["launch_angle"], math.Round(shot["spin_rate"]), math.Round(shot["carry"]/.09144)/10)
	}
	files, err := Samples([]string{path})
	if err != nil {
		t.Fatal(err)
	}
	p, err := DraftFiles(files, "birch", nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	m, err := feed.ParseMap("drafted", []byte(p.Map))
	if err != nil {
		t.Fatalf("%v of\n%s", err, p.Map)
	}
	var shots, rest bytes.Buffer
	read := NewReading(m, &shots, &rest, false)
	if err := read.Files([]string{path}, nil); err != nil || read.Shots != 9 || len(m.Fields()) < 4 {
		t.Errorf("%d shots of %d fields, %v: %s\n%s", read.Shots, len(m.Fields()), err, rest.String(), p.Map)
	}
}
