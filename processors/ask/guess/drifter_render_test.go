package guess

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// write plays the shots and writes them down.
func (d *drifter) write(s *specimen) {
	r := d.r
	if d.kind == "attributes" || d.kind == "elements" {
		if d.side == "inverted stated" {
			d.side = "plain"
		}
	}
	shots, clubs := d.shots(8 + r.IntN(9))
	var heads, units []string
	var rows [][]string
	junk := map[int]int{}
	for k := range r.IntN(4) {
		junk[k] = r.IntN(len(drifterJunk))
	}
	gap := ""
	if r.IntN(3) == 0 {
		gap = d.fields[r.IntN(len(d.fields))]
	}
	session, perSession := 1, 0
	target := 60 + 10*r.IntN(15)
	best, before := math.Inf(-1), ""
	var sum float64
	full := 0
	for i, shot := range shots {
		at := time.Unix(int64(shot["time"]), 0)
		truth := map[string]float64{}
		var row []string
		add := func(head, u, text string) {
			if i == 0 {
				heads, units = append(heads, head), append(units, u)
			}
			row = append(row, text)
		}
		if d.clock != "none" {
			truth["time"] = shot["time"]
		}
		if i == len(shots)/2 {
			session, perSession = 2, 0
		}
		perSession++
		styled := func(n string) string {
			if d.kind == "attributes" || d.kind == "elements" {
				return strings.ReplaceAll(drifterStyles[d.style](n), " ", "_")
			}
			return drifterStyles[d.style](n)
		}
		switch d.id {
		case "counter":
			add(styled("shot no"), "", strconv.Itoa(i+1))
		case "session":
			add(styled("session"), "", strconv.Itoa(40+session))
			add(styled("shot"), "", strconv.Itoa(perSession))
		case "uuid":
			add(styled("shot id"), "", fmt.Sprintf("%08x-%04x-4%03x-8%03x-%012x", r.Uint32(), r.IntN(1<<16), r.IntN(1<<12), r.IntN(1<<12),
				r.Int64N(1<<48)))
		}
		switch d.clock {
		case "iso z":
			add(styled("timestamp"), "", at.UTC().Format("2006-01-02T15:04:05Z"))
		case "iso offset":
			add(styled("time"), "", at.In(time.FixedZone("", 7200)).Format("2006-01-02T15:04:05-07:00"))
		case "iso local":
			add(styled("date time"), "", at.In(d.local).Format("2006-01-02 15:04:05"))
		case "epoch s":
			add(styled("time"), "", strconv.FormatInt(at.Unix(), 10))
		case "epoch ms":
			add(styled("captured at"), "", strconv.FormatInt(at.UnixMilli(), 10))
		case "two columns":
			add(styled("date"), "", at.In(d.local).Format("2006-01-02"))
			add(styled("time"), "", at.In(d.local).Format("15:04:05"))
		case "twelve":
			add(styled("when"), "", at.In(d.local).Format("1/2/2006 3:04:05 PM"))
		case "day first":
			add(styled("date"), "", at.In(d.local).Format("02.01.2006"))
			add(styled("clock"), "", at.In(d.local).Format("15:04:05"))
		case "time only":
			add(styled("time"), "", at.In(d.local).Format("15:04:05"))
		case "month word":
			add(styled("time"), "", at.In(d.local).Format("2 Jan 2006 15:04:05"))
		case "utc column":
			add(styled("time utc"), "", at.UTC().Format("2006-01-02 15:04:05"))
		case "compact":
			add(styled("stamp"), "", at.In(d.local).Format("20060102150405"))
		}
		if d.clubColumn {
			add(styled("club"), "", clubs[i])
		}
		putt := clubs[i] == "Putter"
		if putt {
			truth["role"] = shot["role"]
		} else {
			full++
		}
		for k, f := range d.fields {
			v, known := shot[f]
			text, tag := "", ""
			if known {
				var si float64
				text, tag, si = d.text(f, v)
				if !strings.HasPrefix(f, "(") {
					truth[f] = si
				}
			}
			if !known || f == gap && i%4 == 2 {
				text, tag = d.miss, ""
				delete(truth, f)
			}
			if known && d.zeroSpin && f == "spin_rate" && i%5 == 1 {
				text = "0"
				delete(truth, f)
			}
			add(d.head(f), d.spelled(d.unitOf(f)), text)
			if d.side == "column" && drifterSigned[f] {
				add(d.heads[f]+styled(" side"), "", tag)
			}
			if f == "carry" && known {
				best, sum = math.Max(best, v), sum+v
			}
			if n, ok := junk[k]; ok && !d.has(drifterJunk[n].name) {
				j := drifterJunk[n]
				add(styled(j.name), "", d.junk(j.kind, i, target, best, sum/float64(max(full, 1)), before))
			}
		}
		if c, ok := shot["carry"]; ok {
			before = strconv.FormatFloat(d.conv("carry").From(c), 'f', 1, 64)
		}
		s.truth, rows = append(s.truth, truth), append(rows, row)
	}
	s.files = d.render(heads, units, rows, clubs, shots)
}

func (d *drifter) has(name string) bool {
	for _, h := range d.heads {
		if strings.EqualFold(strings.NewReplacer(" ", "", "_", "", "-", "").Replace(h), strings.ReplaceAll(name, " ", "")) {
			return true
		}
	}
	return false
}

func (d *drifter) junk(kind string, i, target int, best, mean float64, before string) string {
	r := d.r
	kind, of, _ := strings.Cut(kind, ":")
	f := func(v float64, n int) string {
		s := strconv.FormatFloat(v, 'f', n, 64)
		if d.comma {
			s = strings.ReplaceAll(s, ".", ",")
		}
		return s
	}
	switch kind {
	case "small":
		return f(20+8*r.Float64(), 1)
	case "percent":
		return strconv.Itoa(70 + r.IntN(30))
	case "target":
		return strconv.Itoa(target)
	case "count":
		return strconv.Itoa(1 + r.IntN(30))
	case "mean":
		return f(d.conv(of).From(58+r.Float64()), 1)
	case "max":
		if math.IsInf(best, -1) {
			return d.miss
		}
		return f(d.conv(of).From(best), 1)
	case "previous":
		if before == "" {
			return d.miss
		}
		return strings.ReplaceAll(before, ".", map[bool]string{true: ",", false: "."}[d.comma])
	case "tee":
		return f(25+10*r.Float64(), 0)
	case "exposure":
		return f(.5+.4*r.Float64(), 2)
	case "angle":
		return f(12+.1*r.NormFloat64(), 1)
	case "fan":
		return strconv.Itoa(2200 + r.IntN(300))
	case "signed":
		return f(r.NormFloat64()*.4, 2)
	case "goal":
		return strconv.Itoa(120)
	case "loft":
		return f(34, 1)
	}
	return []string{"Wren", "soft", "mat", "A", "good"}[(i/5)%5]
}

func (d *drifter) quoted(cells []string) []string {
	out := make([]string, len(cells))
	for i, c := range cells {
		_, err := strconv.ParseFloat(c, 64)
		if d.quote == "all" || d.quote == "text" && err != nil || strings.Contains(c, d.sep) || strings.Contains(c, `"`) {
			c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
		}
		out[i] = c
	}
	return out
}

func (d *drifter) lines(rows ...[]string) string {
	b := ""
	for _, r := range rows {
		b += strings.Join(d.quoted(r), d.sep) + "\n"
	}
	return b
}

// means is a row below the shots that is none.
func (d *drifter) means(word string, heads []string, rows [][]string) []string {
	out := make([]string, len(heads))
	for c := range heads {
		var sum float64
		n := 0
		for _, r := range rows {
			t := r[c]
			if d.comma {
				t = strings.ReplaceAll(strings.ReplaceAll(t, ".", ""), ",", ".")
			}
			v, err := strconv.ParseFloat(t, 64)
			if err != nil || v > 1e8 || v == -999 || v == 9999 {
				continue
			}
			sum, n = sum+v, n+1
		}
		if n > len(rows)/2 {
			out[c] = strconv.FormatFloat(sum/float64(n), 'f', 1, 64)
			if d.comma {
				out[c] = strings.ReplaceAll(out[c], ".", ",")
			}
		}
	}
	out[0] = word
	return out
}

func (d *drifter) render(heads, units []string, rows [][]string, clubs []string, shots []map[string]float64) []specimenFile {
	r := d.r
	ext := map[string]string{"\t": ".tsv"}[d.sep]
	if ext == "" {
		ext = ".csv"
	}
	switch d.kind {
	case "delimited":
		all := [][]string{heads}
		if d.unitAt == "row" {
			all = append(all, units)
		}
		return one("shots"+ext, d.lines(append(all, rows...)...))
	case "fixed", "ruled":
		all := [][]string{heads}
		if d.unitAt == "row" {
			all = append(all, units)
		}
		return one("shots.txt", d.ruled(append(all, rows...), len(all)))
	case "two lines":
		top := make([]string, len(heads))
		for i, h := range heads {
			top[i] = map[bool]string{true: "Flight", false: "Impact"}[strings.Contains(strings.ToLower(h), "c") || i > len(heads)/2]
			if i > 0 && i <= 1 {
				top[i] = "Shot"
			}
		}
		top[0] = "Shot"
		all := [][]string{top, heads}
		if d.unitAt == "row" {
			all = append(all, units)
		}
		return one("shots"+ext, d.lines(append(all, rows...)...))
	case "preamble", "comments":
		mark := ""
		if d.kind == "comments" {
			mark = pick(r, []string{"# ", "// ", "; ", "% "})
			if d.sep == ";" && mark == "; " {
				mark = "# "
			}
		}
		pre := []string{mark + "Bay 3 export", mark + "Software: 4.2.1"}
		if d.clock == "time only" {
			pre = append(pre, mark+"Date: "+time.Unix(int64(shots[0]["time"]), 0).In(d.local).Format("2006-01-02"))
		}
		if t := d.stated(); t != "" {
			pre = append(pre, mark+t)
		}
		switch d.unitAt {
		case "legend":
			for _, f := range d.fields {
				if u := d.spelled(d.unitOf(f)); u != "" {
					pre = append(pre, mark+d.heads[f]+": "+u)
				}
			}
		case "statement":
			apex := ""
			if d.apexUnit != d.length {
				apex = ", height " + d.spelled(d.apexUnit)
			}
			pre = append(pre,
				mark+"Units: speed "+d.spelled(d.speed)+", distance "+d.spelled(d.length)+apex+", angles "+d.spelled("deg")+", spin "+d.spelled("rpm"))
		}
		if d.kind == "preamble" && r.IntN(2) == 0 {
			pre = append(pre, "")
		}
		return one("session"+ext, strings.Join(pre, "\n")+"\n"+d.lines(append([][]string{heads}, rows...)...))
	case "summary":
		word := pick(r, []string{"Average", "Mean", "AVG", "Total", "Ø", "Durchschnitt"})
		all := append(append([][]string{heads}, rows...), d.means(word, heads, rows))
		if r.IntN(2) == 0 {
			all = append(all, d.means("Std. Dev.", heads, rows))
		}
		return one("report"+ext, d.lines(all...))
	case "club means":
		all := [][]string{heads}
		from := 0
		for i := range rows {
			if i+1 == len(rows) || clubs[i+1] != clubs[i] && clubs[i] != "Putter" && clubs[i+1] != "Putter" {
				all = append(all, rows[from:i+1]...)
				all = append(all, d.means("Average "+clubs[i], heads, rows[from:i+1]))
				from = i + 1
			}
		}
		return one("report"+ext, d.lines(all...))
	case "repeated":
		half := len(rows) / 2
		return one("shots"+ext, d.lines(append([][]string{heads}, rows[:half]...)...)+d.lines(append([][]string{heads}, rows[half:]...)...))
	case "transposed":
		var all [][]string
		for c := range heads {
			line := []string{heads[c]}
			if d.unitAt == "row" {
				line = append(line, units[c])
			}
			for _, row := range rows {
				line = append(line, row[c])
			}
			all = append(all, line)
		}
		return one("shots"+ext, d.lines(all...))
	case "pairs":
		mark, gap := pick(r, []string{"=", ":", ": ", " = "}), pick(r, []string{"; ", " | ", ", ", ";"})
		b := ""
		for _, row := range rows {
			var parts []string
			for c := range heads {
				parts = append(parts, heads[c]+mark+row[c])
			}
			b += strings.Join(parts, gap) + "\n"
		}
		return one("shots.log", b)
	case "blocks":
		b := ""
		for i, row := range rows {
			b += fmt.Sprintf("--- Shot %d ---\n", i+1)
			for c := range heads {
				b += heads[c] + ": " + row[c] + "\n"
			}
			b += "\n"
		}
		return one("shots.txt", b)
	case "attributes", "elements":
		b := "<?xml version=\"1.0\"?>\n<session>\n"
		for _, row := range rows {
			b += "  <shot"
			if d.kind == "elements" {
				b += ">"
			}
			for c := range heads {
				h := strings.NewReplacer(" ", "_", "%", "").Replace(heads[c])
				v := strings.NewReplacer("&", "&amp;", "<", "&lt;", `"`, "&quot;").Replace(row[c])
				if d.kind == "elements" {
					b += fmt.Sprintf("<%s>%s</%s>", h, v, h)
				} else {
					b += fmt.Sprintf(" %s=%q", h, v)
				}
			}
			b += map[string]string{"elements": "</shot>\n", "attributes": "/>\n"}[d.kind]
		}
		return one("session.xml", b+"</session>\n")
	case "ndjson", "nested", "leaves":
		b := ""
		for _, row := range rows {
			b += d.object(heads, units, row) + "\n"
		}
		return one("shots.ndjson", b)
	case "growing":
		var objects []string
		for _, row := range rows {
			objects = append(objects, d.object(heads, units, row))
		}
		return one("shots.json", "[\n"+strings.Join(objects, ",\n"))
	case "document":
		var objects []string
		for _, row := range rows {
			objects = append(objects, "    "+strings.ReplaceAll(d.object(heads, units, row), ",\"", ",\n     \""))
		}
		return one("session.json",
			"{\n  \"device\": {\"model\": \"unit 7\", \"firmware\": \"3.1\"},\n  \"shots\": [\n"+strings.Join(objects, ",\n")+"\n  ]\n}\n")
	case "one file":
		var files []specimenFile
		for i, row := range rows {
			switch d.style % 3 {
			case 0:
				files = append(files, specimenFile{fmt.Sprintf("shot_%03d.json", i+1), d.object(heads, units, row) + "\n"})
			case 1:
				b := ""
				for c := range heads {
					b += heads[c] + "=" + row[c] + "\n"
				}
				files = append(files, specimenFile{fmt.Sprintf("shot_%03d.txt", i+1), b})
			default:
				files = append(files, specimenFile{fmt.Sprintf("shot_%03d.csv", i+1), d.lines(heads, row)})
			}
		}
		return files
	case "columnar":
		var parts []string
		for c := range heads {
			var list []string
			for _, row := range rows {
				list = append(list, d.value(row[c]))
			}
			k, _ := json.Marshal(heads[c])
			parts = append(parts, string(k)+": ["+strings.Join(list, ", ")+"]")
		}
		return one("session.json", "{"+strings.Join(parts, ",\n ")+"}\n")
	case "matrix":
		var list []string
		for _, row := range rows {
			var cells []string
			for _, c := range row {
				cells = append(cells, d.value(c))
			}
			list = append(list, "["+strings.Join(cells, ",")+"]")
		}
		k, _ := json.Marshal(heads)
		return one("session.json", fmt.Sprintf("{\"columns\": %s,\n \"rows\": [\n%s]}\n", k, strings.Join(list, ",\n")))
	}
	panic(d.kind)
}

func (d *drifter) value(t string) string {
	if t == "null" || t == "" && d.style%2 == 0 {
		return "null"
	}
	if _, err := strconv.ParseFloat(t, 64); err == nil && json.Valid([]byte(t)) {
		return t
	}
	b, _ := json.Marshal(t)
	return string(b)
}

// part is what a measure is of.
func (d *drifter) part(head string) string {
	is := ""
	for _, f := range d.fields { // the whole name, or the longest that a column of sides is called after
		h := d.heads[f]
		if head == d.head(f) {
			is = f
			break
		}
		if strings.HasPrefix(head, h+" ") && (is == "" || len(h) > len(d.heads[is])) {
			is = f
		}
	}
	if is != "" {
		f := is
		switch f {
		case "clubhead_speed", "attack_angle", "club_path", "face_angle", "face_to_path", "dynamic_loft":
			return "club"
		case "smash_factor":
			return ""
		}
		return "ball"
	}
	return ""
}

func (d *drifter) object(heads, units, row []string) string {
	groups := map[string][]string{}
	var order []string
	for c := range heads {
		g := ""
		if d.kind == "nested" {
			g = d.part(heads[c])
		}
		if _, ok := groups[g]; !ok {
			order = append(order, g)
		}
		k, _ := json.Marshal(heads[c])
		v := d.value(row[c])
		if d.kind == "leaves" && units[c] != "" {
			u, _ := json.Marshal(units[c])
			v = fmt.Sprintf("{\"value\":%s,\"unit\":%s}", v, u)
		}
		groups[g] = append(groups[g], string(k)+":"+v)
	}
	var parts []string
	for _, g := range order {
		if g == "" {
			parts = append(parts, groups[g]...)
		} else {
			if slices.Contains(heads, g) { // one object has no key twice
				g, groups[g+" data"] = g+" data", groups[g]
			}
			parts = append(parts, fmt.Sprintf("%q:{%s}", g, strings.Join(groups[g], ",")))
		}
	}
	return "{" + strings.Join(parts, ",") + "}"
}

// ruled sets columns under one another, with lines between them or blanks.
func (d *drifter) ruled(all [][]string, heads int) string {
	wide := make([]int, len(all[0]))
	for _, row := range all {
		for c, t := range row {
			wide[c] = max(wide[c], len([]rune(t)))
		}
	}
	b := ""
	for i, row := range all {
		var cells []string
		for c, t := range row {
			pad := strings.Repeat(" ", wide[c]-len([]rune(t)))
			if d.style%2 == 0 {
				t = pad + t
			} else {
				t += pad
			}
			cells = append(cells, t)
		}
		if d.kind == "ruled" {
			b += "| " + strings.Join(cells, " | ") + " |\n"
		} else {
			b += strings.Join(cells, "  ") + "\n"
		}
		if d.kind == "ruled" && i == heads-1 {
			for _, w := range wide {
				b += "|" + strings.Repeat("-", w+2)
			}
			b += "|\n"
		}
	}
	return b
}
