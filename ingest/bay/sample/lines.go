package sample

import (
	"errors"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// readLines reads a table: delimited, by blanks, or of fixed width.
func (t *Table) readLines(texts []string) error {
	t.Format, t.read = "csv", texts
	var lines []string
	var of []int
	joins := brokenCells(texts)
	t.Multiline = joins > 0
	for i, text := range texts {
		text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
		for _, line := range strings.Split(text, "\n") {
			line = strings.TrimRight(line, "\x00")
			if last := len(lines) - 1; last >= 0 && joins > 0 && of[last] == i && strings.Count(lines[last], `"`)%2 == 1 {
				lines[last] += "\n" + line
				continue
			}
			lines, of = append(lines, line), append(of, i)
		}
	}
	t.findComments(lines)
	rules := ""
	kept := func(line string) bool {
		whole := line
		line = strings.TrimSpace(line)
		if ruler.MatchString(line) {
			rules = whole
			return false
		}
		return line != "" && !slices.ContainsFunc(t.Comments, func(c string) bool { return strings.HasPrefix(line, c) })
	}
	if t.Delimiter = ","; t.Holder == "" {
		t.findDelimiter(lines, kept)
	}
	if rules != "" {
		t.skipLine(rulerPattern)
	}
	mode := t.commonCount(lines, kept)
	if mode < 2 {
		return errors.New("no table was found: the lines have no columns in common")
	}
	header, data := t.findHeader(lines, kept, mode)
	if data < 0 {
		return errors.New("no row of numbers was found")
	}
	t.Header = header >= 0
	first := data
	if t.Header {
		first = header
	}
	t.Skip = first
	t.Preamble = lines[:first]
	var names []string
	if t.Header {
		names = t.Split(lines[header])
		for len(names) > mode && names[len(names)-1] == "" {
			names = names[:len(names)-1]
		}
		for _, n := range names {
			t.Columns = append(t.Columns, Column{Name: n})
		}
	} else {
		for i := range mode {
			t.Columns = append(t.Columns, Column{Name: strconv.Itoa(i + 1)})
		}
		t.namedInComment(lines[:first], mode)
	}
	if t.Header && t.Widths != nil && distinct(names) < filled(names) {
		t.namesAbove(lines, header)
	}
	at := first
	if t.Header {
		at++
		for at < len(lines) && !kept(lines[at]) {
			at++
		}
		if at < len(lines) {
			if row := t.Split(lines[at]); unitRow(row) && len(row) <= len(names)+1 {
				t.UnitsRow = true
				for i := range min(len(row), len(t.Columns)) {
					t.Columns[i].Unit = strings.Trim(row[i], "[]() ")
				}
				at++
			}
		}
	}
	for ; t.Header && at < data; at++ { // what the numbers are, a row of it: no shot
		if kept(lines[at]) {
			t.skipLine("^" + regexp.QuoteMeta(strings.ToValidUTF8(lines[at][:min(len(lines[at]), 40)], "")))
		}
	}
	other := 0 // cells of a second table's header: its rows are no shots
	for ; at < len(lines) && t.Rows < maxRows; at++ {
		if !kept(lines[at]) {
			continue
		}
		if cells := t.Split(lines[at]); t.Holder == "" && t.Widths == nil && t.Delimiter != "spaces" {
			switch n := len(cells); {
			case n == mode || n == len(t.Columns):
				other = 0
			case n > 1 && filled(cells) == n && numbers(cells) == 0 && distinct(cells) == n:
				other = n
			case n == other:
				t.skipLine("^\\W*" + regexp.QuoteMeta(word(cells)) + "\\W")
				continue
			}
		}
		t.row(lines[at], of[at], mode, names)
	}
	return nil
}

// namedInComment takes the names of columns from a comment above them that has a
// word for each, behind a word such as "columns:" or none.
func (t *Table) namedInComment(above []string, mode int) {
	for i := len(above) - 1; i >= 0; i-- {
		line := strings.TrimSpace(above[i])
		mark := slices.IndexFunc(t.Comments, func(c string) bool { return strings.HasPrefix(line, c) })
		if mark < 0 {
			continue
		}
		line = strings.TrimSpace(line[len(t.Comments[mark]):])
		if what, rest, ok := strings.Cut(line, ": "); ok && len(what) < 20 {
			line = strings.TrimSpace(rest)
		}
		for _, names := range [][]string{t.Split(line), strings.Fields(line), cut(line, ',', true)} {
			if len(names) == mode && numbers(names) == 0 && distinct(names) == mode {
				for k := range t.Columns {
					t.Columns[k].Title = strings.TrimSpace(names[k])
				}
				return
			}
		}
	}
}

// namesAbove joins names that stand one word a line: Ball above Speed.
func (t *Table) namesAbove(lines []string, header int) {
	for i := range t.Columns {
		t.Columns[i].Title = t.Columns[i].Name
	}
	for at := header - 1; at >= 0 && at >= header-2; at-- {
		cells := t.Split(lines[at])
		if numbers(cells) > 0 || filled(cells)*2 < len(t.Columns) {
			return
		}
		for i := range min(len(cells), len(t.Columns)) {
			t.Columns[i].Title = strings.TrimSpace(cells[i] + " " + t.Columns[i].Title)
		}
	}
}

// rulerPattern is a line that only parts a header from its rows.
const rulerPattern = `^[\s|+:]*[-=_]{3}[-=_\s|+:]*$`

var ruler = regexp.MustCompile(rulerPattern)

// row takes a line of the table, or notes what kind of line it is.
func (t *Table) row(line string, file, mode int, names []string) {
	cells := t.Split(line)
	for len(cells) > mode && cells[len(cells)-1] == "" {
		cells = cells[:len(cells)-1]
	}
	switch {
	case t.Header && sameCells(cells, names):
		return
	case t.UnitsRow && unitRow(cells):
		return
	case summary(cells):
		t.skipLine("^\\W*" + regexp.QuoteMeta(word(cells)))
		return
	case len(cells) != mode && numbers(cells) < 2, t.Widths != nil && numbers(cells) < 2 && filled(cells)*2 <= mode:
		t.skipLine("^\\W*" + regexp.QuoteMeta(firstWords(line)))
		return
	case len(cells) != mode && len(cells) != len(t.Columns):
		return // cut short, or a cell too many: the map refuses it, with the reason
	}
	for i := range t.Columns {
		cell := ""
		if i < len(cells) {
			cell = cells[i]
		}
		t.Columns[i].Cells = append(t.Columns[i].Cells, cell)
	}
	t.Rows++
	t.FileOf = append(t.FileOf, file)
}

func (t *Table) skipLine(pattern string) {
	if !slices.Contains(t.SkipLines, pattern) && len(t.SkipLines) < 12 {
		t.SkipLines = append(t.SkipLines, pattern)
	}
}

func sameCells(a, b []string) bool {
	hits := 0
	for i := range min(len(a), len(b)) {
		if a[i] != "" && strings.EqualFold(a[i], b[i]) {
			hits++
		}
	}
	return hits*2 > len(b)
}

var summaryWord = regexp.MustCompile(`(?i)^\W*(average|avg|mean|median|std|stdev|sd|deviation|consistency|total|totals|sum|summary|min|max|minimum|maximum|best|count|end of|mittel\w*|durchschnitt|summe|moyenne|media|promedio|schnitt|ende|fin|target)\b`)

// summary says whether a row speaks of other rows.
func summary(cells []string) bool {
	for _, c := range cells[:min(len(cells), 3)] {
		if summaryWord.MatchString(c) {
			return true
		}
	}
	return false
}

func word(cells []string) string {
	for _, c := range cells {
		if c = strings.TrimSpace(c); c != "" {
			return c
		}
	}
	return ""
}

func firstWords(line string) string {
	line = strings.TrimLeft(line, " \t\"=-*#;,|")
	words := strings.FieldsFunc(line, func(r rune) bool { return !unicode.IsLetter(r) })
	if len(words) == 0 {
		return line
	}
	at := strings.Index(line, words[0])
	return line[:at+len(words[0])]
}

// findComments sees marks at the front of lines that are no rows.
func (t *Table) findComments(lines []string) {
	for _, mark := range []string{"#", "//", "%", "!", "--"} {
		n, numeric := 0, 0
		for _, line := range lines {
			line = strings.TrimSpace(line)
			if strings.HasPrefix(line, mark) {
				n++
				if rest := strings.TrimSpace(line[len(mark):]); rest != "" && (cells(rest) > 3 || strings.ContainsAny(rest[:1], ";,\t|") ||
					strings.Count(rest, "   ") > 2) {
					numeric++ // "#;Ball;Carry" is a header whose first column is called #
				}
			}
		}
		if n > 0 && numeric == 0 {
			t.Comments = append(t.Comments, mark)
		}
	}
}

// cells is into how many cells a sign of a table cuts a line at most.
func cells(line string) (most int) {
	for _, sign := range []string{";", ",", "\t", "|"} {
		most = max(most, strings.Count(line, sign)+1)
	}
	return most
}

var delimiters = []struct {
	sign rune
	name string
}{{'\t', "tab"}, {';', ";"}, {'|', "|"}, {',', ","}, {'~', "~"}, {'^', "^"}}

// findDelimiter takes the sign that cuts most lines into the same number of cells.
func (t *Table) findDelimiter(lines []string, kept func(string) bool) {
	best, score := "", 0.0
	for _, d := range delimiters {
		counts, n := map[int]int{}, 0
		for _, line := range lines {
			if kept(line) {
				counts[len(cut(line, d.sign, true))]++
				n++
			}
		}
		mode, most := 0, 0
		for c, k := range counts {
			if c > 1 && (k > most || k == most && c > mode) {
				mode, most = c, k
			}
		}
		if n == 0 || most == 0 {
			continue
		}
		s := float64(most) / float64(n) * (1 + float64(min(mode, 12))/24)
		if d.sign == ',' && best != "" {
			s *= .8 // may be the decimal sign
		}
		if s > score {
			best, score = d.name, s
		}
	}
	if score > .45 {
		t.Delimiter = best
		return
	}
	t.Delimiter = "spaces"
	if w := widths(lines, kept); w != nil {
		if ruled := ruledWidths(lines, kept); len(ruled) >= len(w) {
			w = ruled
		}
		t.Widths, t.Delimiter = w, ""
	}
}

// widths finds columns of fixed width where blanks within cells, or empty
// cells, keep blanks from being delimiters; nil where blanks do.
func widths(lines []string, kept func(string) bool) []int {
	counts := map[int]int{}
	var rows [][]rune
	longest := 0
	for _, line := range lines {
		if !kept(line) {
			continue
		}
		counts[len(strings.Fields(line))]++
		rows = append(rows, []rune(strings.TrimRight(line, " ")))
		longest = max(longest, len(rows[len(rows)-1]))
	}
	if len(rows) == 0 || len(counts) == 1 {
		return nil
	}
	// Lines much shorter than the table are no rows of it.
	var table [][]rune
	for _, r := range rows {
		if len(r)*2 >= longest {
			table = append(table, r)
		}
	}
	narrow := gaps(table, longest, 1)
	starts := apart(table, gaps(table, longest, 2), narrow)
	if len(starts) < 3 {
		starts = narrow
	}
	if len(starts) < 3 {
		return nil
	}
	var out []int
	for i := range starts {
		from, to := starts[i], longest+1
		if i == 0 {
			from = 0
		}
		if i+1 < len(starts) {
			to = starts[i+1]
		}
		out = append(out, to-from)
	}
	return out
}

// gaps returns where columns begin: behind at least so many characters that are
// blank in every row.
func gaps(table [][]rune, longest, least int) (starts []int) {
	run := least
	for i := range longest {
		here := true
		for _, r := range table {
			if i < len(r) && r[i] != ' ' {
				here = false
				break
			}
		}
		if here {
			run++
			continue
		}
		if run >= least {
			starts = append(starts, i)
		}
		run = 0
	}
	return starts
}

// Split cuts a line of the table into its cells.
func (t *Table) Split(line string) []string {
	switch {
	case t.Widths != nil:
		var out []string
		for i, w := range t.Widths {
			end := 0
			for range w {
				_, size := utf8.DecodeRuneInString(line[end:])
				end += size
			}
			if i == len(t.Widths)-1 {
				end = len(line)
			}
			out = append(out, strings.TrimSpace(line[:end]))
			line = line[end:]
		}
		return out
	case t.Delimiter == "spaces":
		return strings.Fields(line)
	}
	for _, d := range delimiters {
		if d.name == t.Delimiter {
			return cut(line, d.sign, true)
		}
	}
	return []string{line}
}

// cut splits at a delimiter outside of double quotes.
func cut(line string, sign rune, quotes bool) (out []string) {
	quoted := false
	var b strings.Builder
	for _, r := range line {
		switch {
		case quotes && r == '"':
			quoted = !quoted
		case r == sign && !quoted:
			out = append(out, strings.TrimSpace(b.String()))
			b.Reset()
		default:
			b.WriteRune(r)
		}
	}
	if quoted && quotes {
		return cut(line, sign, false)
	}
	return append(out, strings.TrimSpace(b.String()))
}

// commonCount is how many cells most rows have.
func (t *Table) commonCount(lines []string, kept func(string) bool) int {
	counts := map[int]int{}
	for _, line := range lines {
		if !kept(line) {
			continue
		}
		cells := t.Split(line)
		for len(cells) > 1 && cells[len(cells)-1] == "" {
			cells = cells[:len(cells)-1]
		}
		if numbers(cells) >= 2 || len(cells) > 3 {
			counts[len(cells)]++
		}
	}
	mode, most := 0, 0
	for c, k := range counts {
		if k > most || k == most && c > mode {
			mode, most = c, k
		}
	}
	return mode
}

// findHeader returns the lines of the header (-1: none) and of the first row.
func (t *Table) findHeader(lines []string, kept func(string) bool, mode int) (header, data int) {
	header, data = -1, -1
	for i, line := range lines {
		if !kept(line) {
			continue
		}
		cells := t.Split(line)
		if near := len(cells) - mode; near < -1-mode/3 || near > mode {
			continue
		}
		if n := numbers(cells); n*3 >= mode || n >= 3 {
			data = i
			break
		}
		if filled(cells)*2 >= mode && (!unitRow(cells) || header < 0) && (header < 0 || distinct(cells)*2 > filled(cells)) {
			header = i
		}
	}
	if data < 0 { // few numbers and many texts: a row a value
		header = -1
		for i, line := range lines {
			switch cells := t.Split(line); {
			case !kept(line) || len(cells) != mode:
			case header < 0:
				header = i
			default:
				if numbers(cells) > 0 {
					return header, i
				}
			}
		}
	}
	return header, data
}

// brokenCells counts the line ends that stand within quoted cells; 0 where quotes
// do not come in pairs.
func brokenCells(texts []string) (n int) {
	for _, text := range texts {
		if strings.Count(text, `"`)%2 != 0 {
			return 0
		}
		open, run := false, 0
		for line := range strings.Lines(text) {
			if strings.Count(line, `"`)%2 == 1 {
				if at := strings.LastIndexByte(line, '"'); !open && at > 0 && !strings.ContainsRune(",;\t| \ufeff", before(line, at)) {
					return 0 // a sign of inches
				}
				open = !open
			}
			if !open {
				run = 0
				continue
			}
			n++
			if run++; run > 80 {
				return 0
			}
		}
	}
	return n
}

// before is the character before a place of a line.
func before(line string, at int) rune {
	r, _ := utf8.DecodeLastRuneInString(line[:at])
	return r
}

// distinct counts the texts of a row.
func distinct(cells []string) int {
	seen := map[string]bool{}
	for _, c := range cells {
		if c = strings.TrimSpace(c); c != "" {
			seen[c] = true
		}
	}
	return len(seen)
}

// filled counts the cells that hold something.
func filled(cells []string) (n int) {
	for _, c := range cells {
		if strings.TrimSpace(c) != "" {
			n++
		}
	}
	return n
}

var numberLike = regexp.MustCompile(`^[LRlr]?\s*[-+−]?\d[\d.,' ]*\s*\D{0,8}$`)

// numbers counts the cells that are numbers.
func numbers(cells []string) (n int) {
	for _, c := range cells {
		if numberLike.MatchString(c) {
			n++
		}
	}
	return n
}

var unitLike = regexp.MustCompile(`(?i)^[\[(]?(mph|m/s|mps|km/h|kmh|kph|fps|ft/s|kn|kts?|knots?|yds?\.?|yards?|m|met(re|er)s?|ft|feet|foot|in|inch(es)?|cm|mm|deg(rees?)?|°|rad|rpm|rps|u/min|1/min|s|sec|seconds|ms|%|°?c|°?f|hpa|-|–|#|1|x)[\])]?$`)

// unitRow says whether a row holds units. One of numbers and dashes is a shot of which
// little was measured.
func unitRow(cells []string) bool {
	units, filled, dashes := 0, 0, 0
	for _, c := range cells {
		if c = strings.TrimSpace(c); c == "" {
			continue
		}
		filled++
		switch {
		case strings.Trim(c, "[]()-–#") == "":
			dashes++
			fallthrough
		case unitLike.MatchString(c) && c != "1":
			units++
		case c != "1" && numberLike.MatchString(c):
			return false
		}
	}
	return units >= 2 && units*2 > filled && units > dashes
}
