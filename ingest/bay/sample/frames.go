package sample

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Lines of one frame: the same words with other numbers in between, as a log
// writes them, a query, a message of a bus. Each number is called by the word
// before it, and has the unit that stands behind it.

// token is a time or a number within a line.
var token = regexp.MustCompile(`\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:[.,]\d+)?(?:Z|[+-]\d\d:?\d\d)?` +
	`|\d{1,2}/[A-Z][a-z]{2}/\d{4}:\d\d:\d\d:\d\d(?: [+-]\d{4})?` +
	`|\d{1,4}[./-]\d{1,2}[./-]\d{2,4}(?:[T ]\d{1,2}:\d\d(?::\d\d)?)?` +
	`|\d{1,2}:\d\d:\d\d(?:\.\d+)?|\d+(?:\.\d+){2,}|[-+−]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?`)

// commaToken is token where a comma stands before decimals.
var commaToken = regexp.MustCompile(strings.TrimSuffix(token.String(), `(?:\.\d+)?(?:[eE][-+]?\d+)?`) + `(?:,\d+)?`)

var pointed = regexp.MustCompile(`\d\.\d+\b`)

const (
	timeToken   = `(\d[\d./T: -]*[\d:](?:[.,]\d+)?(?: ?(?:Z|[+-]\d\d:?\d\d))?)`
	numberToken = `([-+−]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?)`
	commaNumber = `([-+−]?\d+(?:,\d+)?)`
	anyToken    = `[-+−\d][-+\d.,:/TZ]*`
)

// aFrame is how lines are that differ in their numbers alone.
type aFrame struct {
	key   string
	parts []string // what stands before each token, and behind the last
	lines []int
}

// readFrames reads such lines; three numbers at least must have names.
func (t *Table) readFrames(texts []string) bool {
	if t.readStatements(texts) {
		return true
	}
	var lines []string
	var of []int
	for i, text := range texts {
		for line := range strings.Lines(text) {
			if line = strings.TrimRight(line, "\r\n"); strings.TrimSpace(line) != "" {
				lines, of = append(lines, line), append(of, i)
			}
		}
	}
	tokens := commaToken
	if slices.ContainsFunc(lines[:min(len(lines), 20)], func(l string) bool {
		return pointed.MatchString(clockless.ReplaceAllString(l, ""))
	}) {
		tokens = token
	}
	frames := map[string]*aFrame{}
	var best *aFrame
	for i, line := range lines[:min(len(lines), 4*maxRows)] {
		at := tokens.FindAllStringIndex(line, -1)
		if len(at) < 3 || len(at) > maxColumns {
			continue
		}
		var parts []string
		from := 0
		for _, a := range at {
			parts, from = append(parts, line[from:a[0]]), a[1]
		}
		parts = append(parts, line[from:])
		key := strings.Join(parts, "\x00")
		f := frames[key]
		if f == nil {
			f = &aFrame{key: key, parts: parts}
			frames[key] = f
		}
		f.lines = append(f.lines, i)
		if best == nil || len(f.lines)*len(f.parts) > len(best.lines)*len(best.parts) {
			best = f
		}
	}
	if best == nil || len(best.lines) < 3 || len(best.lines)*10 < len(lines)*3 {
		return false
	}
	if ruled(lines, best.lines[0]) {
		return false
	}
	return t.framed(best, lines, of, tokens)
}

// clockless finds dates and times, whose points are no decimals'.
var clockless = regexp.MustCompile(`\d{1,4}[./-]\d{1,2}[./-]\d{2,4}|\d{1,2}:\d\d(?::\d\d)?(?:\.\d+)?`)

// ruled says that a line is a row of a table: a line above it without numbers is
// cut into as many cells.
func ruled(lines []string, at int) bool {
	for _, d := range delimiters {
		n := len(cut(lines[at], d.sign, true))
		if n < 3 {
			continue
		}
		for _, line := range lines[:at] {
			if len(cut(line, d.sign, true)) == n && token.FindString(line) == "" {
				return true
			}
		}
	}
	return false
}

// framed makes the table of a frame.
func (t *Table) framed(f *aFrame, lines []string, of []int, tokens *regexp.Regexp) bool {
	found := tokens.FindAllString(lines[f.lines[0]], -1)
	n := len(f.parts) - 1
	named, telling := 0, ""
	columns, drawn := make([]Column, n), make([]Drawn, n)
	for k := range n {
		name, from := wordBefore(f.parts[k], k > 0)
		last, _ := unitBehind(f.parts[k+1])
		c := Column{Name: name, Unit: last}
		kind := numberToken
		if tokens == commaToken {
			kind = commaNumber
		}
		if strings.ContainsAny(found[k], ":/") || dated(found[k]) {
			kind = timeToken
		}
		pattern := regexp.QuoteMeta(from) + kind
		switch {
		case name == "" || slices.ContainsFunc(columns[:k], func(o Column) bool { return o.Name == name }):
			// No word of its own: its place tells it.
			pattern = "^"
			for p := range k {
				pattern += regexp.QuoteMeta(f.parts[p]) + anyToken + "(?: [-+]\\d{4})?"
			}
			pattern += regexp.QuoteMeta(f.parts[k]) + kind
			if c.Name = "Value " + string(rune('A'+k%26)); kind == timeToken {
				c.Name, c.Title = "Logged at", "timestamp"
				if slices.ContainsFunc(columns[:k], func(o Column) bool { return o.Name == c.Name }) {
					c.Name += " " + string(rune('A'+k%26))
				}
			}
		default:
			named++
			if telling == "" && kind != timeToken {
				telling = regexp.QuoteMeta(from) + `[-+−]?\d`
			}
		}
		columns[k], drawn[k] = c, Drawn{c.Name, pattern}
	}
	if named < 3 || telling == "" {
		return false
	}
	patterns := make([]*regexp.Regexp, n)
	for k := range drawn {
		var err error
		if patterns[k], err = regexp.Compile("(?i)" + drawn[k].Pattern); err != nil {
			return false
		}
	}
	ours := regexp.MustCompile("(?i)" + telling)
	t.Format, t.Columns, t.Parts = "text", columns, drawn
	for i, line := range lines {
		if t.Rows >= maxRows || !ours.MatchString(line) {
			continue
		}
		for k, p := range patterns {
			cell := ""
			if m := p.FindStringSubmatch(line); m != nil {
				cell = strings.TrimSpace(m[1])
			}
			t.Columns[k].Cells = append(t.Columns[k].Cells, cell)
		}
		t.Rows++
		t.FileOf = append(t.FileOf, of[i])
	}
	if t.Rows < len(lines) {
		t.KeepLines = []string{telling}
	}
	return t.Rows >= 3
}

func dated(text string) bool {
	return len(text) > 7 && strings.Count(text, "-")+strings.Count(text, ".") >= 2
}

// wordBefore is the word or words that stand before a number, and the text from
// them on to it; behind is true behind another number, whose unit is none of them.
func wordBefore(text string, behind bool) (name, from string) {
	if behind {
		if _, rest := unitBehind(text); rest >= 0 {
			text = text[rest:]
		}
	}
	// Only what stands behind the last sign that ends something.
	end, start := len(text), 0
	trimmed := strings.TrimRight(text, " \t=:#'\"([{")
	if cut := strings.LastIndexAny(trimmed, ",;|&?\"'()[]{}<>\t"); cut >= 0 {
		start = cut + 1
	}
	if cut := strings.LastIndex(trimmed[start:], ": "); cut >= 0 {
		start += cut + 2
	}
	name = strings.TrimSpace(trimmed[start:])
	// An assignment's key has no blanks: what stands before it is another word.
	if strings.HasSuffix(text, "=") {
		if cut := strings.LastIndexByte(name, ' '); cut >= 0 {
			start += strings.LastIndexByte(trimmed[start:], ' ') + 1
			name = name[cut+1:]
		}
	}
	if strings.IndexFunc(name, unicode.IsLetter) < 0 || len([]rune(name)) > 40 {
		return "", ""
	}
	if start > 0 {
		return name, text[start-1 : end]
	}
	return name, text[start:end]
}

// unitBehind is the unit that a text begins with, and where it ends; -1: there is
// none, nor any other mark of the number before.
func unitBehind(text string) (string, int) {
	rest := strings.TrimLeft(text, " ")
	blanks := len(text) - len(rest)
	end := strings.IndexFunc(rest, func(r rune) bool { return strings.ContainsRune(" ,;|&)]}\t\"", r) })
	if end < 0 {
		end = len(rest)
	}
	word := strings.TrimRight(rest[:end], ".:")
	if word != "" && unitLike.MatchString(word) && word != "-" && word != "#" {
		return word, blanks + len(word)
	}
	if blanks == 0 && end > 0 && end < len(rest) { // i of 12i: hangs on to the number
		return "", end
	}
	return "", -1
}

// statement is a row of a table as databases write it out.
var (
	statement = regexp.MustCompile(`(?i)^\s*INSERT INTO\s+(\S+?)\s*(?:\(([^)]*)\)\s*)?VALUES\s*\(`)
	created   = regexp.MustCompile(`(?is)CREATE TABLE\s+(?:IF NOT EXISTS\s+)?(\S+?)\s*\((.*?)\)\s*;`)
)

// readStatements reads the rows that a database writes out as statements, a line
// each.
func (t *Table) readStatements(texts []string) bool {
	named, lines := map[string][]string{}, map[string][]string{}
	of := map[string][]int{}
	best := ""
	for i, text := range texts {
		for _, m := range created.FindAllStringSubmatch(text, -1) {
			for _, column := range cut(m[2], ',', true) {
				if word := strings.Fields(column); len(word) > 0 {
					named[m[1]] = append(named[m[1]], strings.Trim(word[0], "`\"[]"))
				}
			}
		}
		for line := range strings.Lines(text) {
			m := statement.FindStringSubmatch(line)
			if m == nil {
				continue
			}
			if m[2] != "" {
				named[m[1]] = nil
				for column := range strings.SplitSeq(m[2], ",") {
					named[m[1]] = append(named[m[1]], strings.Trim(strings.TrimSpace(column), "`\"[]"))
				}
			}
			lines[m[1]], of[m[1]] = append(lines[m[1]], strings.TrimSpace(line)), append(of[m[1]], i)
			if best == "" || len(lines[m[1]]) > len(lines[best]) {
				best = m[1]
			}
		}
	}
	if best == "" || len(named[best]) < 3 {
		return false
	}
	begins := `^\s*INSERT INTO\s+` + regexp.QuoteMeta(best) + `\s*(?:\([^)]*\)\s*)?VALUES\s*\(`
	t.Format, t.KeepLines = "text", []string{begins}
	for k, name := range named[best] {
		pattern := begins
		if k > 0 {
			pattern += `(?:(?:'[^']*'|[^,'])*,){` + strconv.Itoa(k) + `}`
		}
		pattern += `\s*'?([^',)]*)`
		p := regexp.MustCompile("(?i)" + pattern)
		c := Column{Name: name}
		for _, line := range lines[best][:min(len(lines[best]), maxRows)] {
			cell := ""
			if m := p.FindStringSubmatch(line); m != nil {
				cell = strings.TrimSpace(m[1])
			}
			if strings.EqualFold(cell, "NULL") {
				cell = ""
			}
			c.Cells = append(c.Cells, cell)
		}
		t.Columns, t.Parts = append(t.Columns, c), append(t.Parts, Drawn{name, pattern})
	}
	t.Rows = len(t.Columns[0].Cells)
	t.FileOf = of[best][:t.Rows]
	return t.Rows > 1
}
