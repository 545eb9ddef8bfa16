package sample

import (
	"regexp"
	"strings"
)

var (
	pairWord = regexp.MustCompile(`(?:^|[\s;,|])[A-Za-z_][\w .°/%()-]*?\s*(=|:)\s*\S`)
	pairLine = regexp.MustCompile(`^\s*([\p{L}_#](?:[^=:;,\t|"]|, ){0,40}?)\s*(=|:)\s*(\S.*)?$`)
)

// leader is a line whose key is led to its value by dots.
var leader = regexp.MustCompile(`^[\p{L}#][^.]*(?:\.[^.]+)?\s*\.{3,}\s*\S`)

// leading is what stands between a key and its value where dots do: as many as
// there is room for, behind a blank or not.
func leading(texts []string) string {
	for _, text := range texts {
		for line := range strings.Lines(text) {
			if line = strings.TrimSpace(line); leader.MatchString(line) && !strings.Contains(line, " ..") {
				return ".."
			}
		}
	}
	return " ."
}

func dots(separator string) bool { return strings.Trim(separator, " .") == "" }

// section is a line in brackets that numbers what follows it.
var section = regexp.MustCompile(`^(\[[^\]\d]*?)[\s._-]*(\d+)\]$`)

// sections is how the lines begin that number sections, each a shot; "" where
// fewer than two do.
func sections(texts []string) string {
	counts := map[string]int{}
	for _, text := range texts {
		for line := range strings.Lines(text) {
			if m := section.FindStringSubmatch(strings.TrimSpace(line)); m != nil {
				counts[m[1]]++
			}
		}
	}
	best := ""
	for begins, n := range counts {
		if len(begins) > 1 && n > 1 && (n > counts[best] || n == counts[best] && begins < best) {
			best = begins
		}
	}
	return best
}

// clock is a line whose first colon stands in a time of day.
var clock = regexp.MustCompile(`^[^=:]*\d:\d\d`)

// remark says whether a line is a comment: # may be a key, too.
func remark(line string) bool {
	rest, ok := strings.CutPrefix(line, "#")
	return ok && !strings.HasPrefix(strings.TrimSpace(rest), "=") && !strings.HasPrefix(strings.TrimSpace(rest), ":")
}

// readKeys reads records of keys and values: a line each, a block of lines, or
// a file.
func (t *Table) readKeys(texts []string) bool {
	many, one, other, lines, led := 0, 0, 0, 0, 0
	separators := map[string]int{}
	for _, text := range texts {
		for line := range strings.Lines(text) {
			line = strings.TrimSpace(line)
			if line == "" || remark(line) {
				continue
			}
			lines++
			if leader.MatchString(line) {
				led++
			}
			if found := pairWord.FindAllStringSubmatch(line, -1); len(found) >= 3 && !timeOnly(found, line) {
				many++
				separators[found[0][1]]++
			} else if m := pairLine.FindStringSubmatch(strings.TrimPrefix(line, "- ")); m != nil && !clock.MatchString(line) {
				one++
				separators[m[2]]++
			} else {
				other++
			}
		}
	}
	separator := "="
	if separators[":"] > separators["="] {
		separator = ":"
	}
	switch {
	case lines == 0:
		return false
	case led*10 >= lines*6 && led >= 3:
		return t.readBlocks(texts, leading(texts))
	case many*10 >= lines*6:
		return t.readPairLines(texts, separator)
	case one*10 >= lines*7 && one >= 3:
		return t.readBlocks(texts, separator)
	}
	return false
}

// timeOnly says whether the pairs are times of day in a table's row.
func timeOnly(found [][]string, line string) bool {
	return !strings.Contains(line, "=") && strings.Count(line, ":") < 3
}

func (t *Table) readPairLines(texts []string, separator string) bool {
	t.Format, t.Separator = "keys", separator
	for _, between := range []string{";", "|", "\t", ","} {
		good, lines := 0, 0
		for _, text := range texts {
			for line := range strings.Lines(text) {
				if line = strings.TrimSpace(line); line == "" || remark(line) {
					continue
				}
				lines++
				whole := true
				pairs := strings.Split(strings.TrimRight(line, between+" "), between)
				for _, p := range pairs {
					whole = whole && strings.Contains(p, separator)
				}
				if whole && len(pairs) >= 3 {
					good++
				}
			}
		}
		if good*10 >= lines*6 {
			t.Between = between
			break
		}
	}
	if t.Between == "" && nested(texts, separator) {
		return false
	}
	for i, text := range texts {
		for line := range strings.Lines(text) {
			line = strings.TrimSpace(line)
			if line == "" || t.Rows >= maxRows {
				continue
			}
			if remark(line) {
				t.comment(line)
				continue
			}
			n := 0
			for _, p := range pairsOf(line, t.Between, separator) {
				if k, v, ok := strings.Cut(p, separator); ok {
					t.put(strings.TrimSpace(k), strings.Trim(strings.TrimSpace(v), `"`))
					n++
				}
			}
			if n < 2 {
				t.SkipLines = append(t.SkipLines, "^"+regexp.QuoteMeta(firstWords(line)))
				continue
			}
			t.endRow(i)
		}
	}
	if t.Between == "" && t.SkipLines == nil {
		var lines []string
		for _, text := range texts {
			for line := range strings.Lines(text) {
				if strings.TrimSpace(line) != "" && !remark(strings.TrimSpace(line)) {
					lines = append(lines, line)
				}
			}
		}
		t.Parts = t.timed(lines)
	}
	return t.Rows > 0
}

// nested says whether most lines have pairs within the value of a pair, and what
// parts them is no blank: a frame of its own.
func nested(texts []string, separator string) bool {
	within, lines := 0, 0
	for _, text := range texts {
		for line := range strings.Lines(text) {
			lines++
			for _, p := range pairsOf(strings.TrimSpace(line), "", separator) {
				if _, v, ok := strings.Cut(p, separator); ok && !strings.HasPrefix(v, `"`) && pairIn.MatchString(v) {
					within++
					break
				}
			}
		}
	}
	return within*2 > lines
}

var pairIn = regexp.MustCompile(`[,&;|][A-Za-z_]\w*=`)

func pairsOf(line, between, separator string) []string {
	if between != "" {
		return strings.Split(line, between)
	}
	var out []string
	for _, word := range strings.Fields(line) {
		if strings.Contains(word, separator) || len(out) == 0 {
			out = append(out, word)
		} else {
			out[len(out)-1] += " " + word
		}
	}
	return out
}

// item is how a line begins that opens an entry of a list, or names a table that
// comes again.
var item = regexp.MustCompile(`^(\s*- +[^:=]+[:=]|\[\[[^\]]+\]\])`)

// items is how the entries of an indented list begin; "" where fewer than two do.
func items(texts []string) (best string) {
	counts := map[string]int{}
	for _, text := range texts {
		for line := range strings.Lines(text) {
			if m := item.FindString(line); m != "" {
				counts[m]++
			}
		}
	}
	for begins, n := range counts {
		if n > 1 && (n > counts[best] || n == counts[best] && begins < best) {
			best = begins
		}
	}
	return best
}

// begun is how the first line of each block begins, where no empty line parts
// them; "" where one does.
func begun(texts []string, separator string) string {
	first, rule := "", ""
	for _, text := range texts {
		seen := map[string]bool{}
		for line := range strings.Lines(text) {
			line = strings.TrimRight(line, "\r\n ")
			if strings.TrimSpace(line) == "" {
				seen = map[string]bool{}
				continue
			}
			if ruler.MatchString(line) {
				rule, seen = line, map[string]bool{}
				continue
			}
			key, _, ok := strings.Cut(line, separator)
			if !ok {
				continue
			}
			if first == "" {
				first = key + separator
			}
			if seen[key] && rule == "" {
				return first
			}
			seen[key] = true
		}
	}
	return rule
}

// readBlocks reads one pair a line: a block ends at an empty line, or a file is
// one shot.
func (t *Table) readBlocks(texts []string, separator string) bool {
	t.Format, t.Separator, t.Between, t.Records = "keys", separator, "\n", "file"
	for _, text := range texts {
		seen := map[string]int{}
		for line := range strings.Lines(text) {
			if dots(separator) && leader.MatchString(strings.TrimSpace(line)) {
				key, _, _ := strings.Cut(line, separator)
				seen[strings.TrimSpace(key)]++
			} else if m := pairLine.FindStringSubmatch(strings.TrimPrefix(strings.TrimSpace(line), "- ")); m != nil {
				seen[m[1]]++
			}
		}
		for _, n := range seen {
			if n > 1 {
				t.Records = "blank"
			}
		}
	}
	numbered := false
	if t.Records == "blank" {
		if begins := sections(texts); begins != "" {
			t.Records, numbered = begins, true
		} else if begins := items(texts); begins != "" {
			t.Records = begins
		} else if begins := begun(texts, separator); begins != "" {
			t.Records = begins
		}
	}
	if numbered {
		t.Parts = append(t.Parts, Drawn{"Section", "^" + regexp.QuoteMeta(t.Records) + `[\s._-]*(\d+)`})
	}
	for i, text := range texts {
		blocks := []string{text}
		if begins := t.Records; begins != "blank" && begins != "file" {
			blocks = strings.Split("\n"+strings.ReplaceAll(text, "\r", ""), "\n"+begins)
			for line := range strings.Lines(blocks[0]) {
				if line = strings.TrimSpace(line); line != "" && len(t.Preamble) < 100 {
					t.Preamble = append(t.Preamble, line)
				}
			}
			for k := range blocks[1:] {
				blocks[k+1] = begins + blocks[k+1]
			}
			blocks = blocks[1:]
		} else if t.Records == "blank" {
			blocks = regexp.MustCompile(`\r?\n\s*\r?\n`).Split(text, -1)
		}
		for _, b := range blocks {
			n := 0
			if m := section.FindStringSubmatch(strings.TrimSpace(strings.SplitN(b, "\n", 2)[0])); numbered && m != nil {
				t.put("Section", m[2])
			}
			for line := range strings.Lines(b) {
				if k, v, ok := strings.Cut(strings.TrimSpace(line), separator); ok && strings.TrimSpace(k) != "" {
					if dots(separator) {
						v = strings.TrimLeft(v, ".")
					}
					t.put(strings.TrimSpace(k), strings.Trim(strings.TrimSpace(v), `"`))
					n++
				}
			}
			if n > 0 {
				t.endRow(i)
			}
		}
	}
	for i := range t.Columns {
		if numbered && t.Columns[i].Name == "Section" {
			t.Columns[i].Title = "shot id"
		}
	}
	return t.Rows > 0
}
