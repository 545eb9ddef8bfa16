package feed

import (
	"bytes"
	"regexp"
)

// frame finds the records of a file whose records are not its lines. It looks
// at the bytes from where the last record ended, and keeps nothing in between,
// so that a file may grow under it.
type frame struct {
	// find returns where a record begins and ends, and where the search for the
	// next one goes on; end -1: there is no whole one yet.
	find func(b []byte, first bool) (start, end int)
	// rest says whether what is left at the end of a file is part of a record.
	rest func(b []byte, first bool) bool
}

// frame returns how records are found; nil where they are lines.
func (m *Map) frame() *frame {
	switch {
	case m.kind == "json":
		f := jsonFrame{name: m.records}
		if m.records != "" {
			f.list = regexp.MustCompile(`"` + regexp.QuoteMeta(m.records) + `"\s*:\s*\[`)
		}
		return &frame{find: f.find, rest: func(b []byte, first bool) bool { return f.begin(b, first) >= 0 }}
	case m.kind == "xml":
		open := []byte("<" + m.records)
		return &frame{find: func(b []byte, _ bool) (int, int) { return xmlRecord(b, open, []byte("</"+m.records)) },
			rest: func(b []byte, _ bool) bool { return xmlBegin(b, open) >= 0 }}
	case m.kind == "keys" && m.records == recordBlank:
		return &frame{find: blankRecord, rest: func(b []byte, _ bool) bool { return len(bytes.TrimSpace(b)) > 0 }}
	case m.kind == "keys" && m.records == recordFile:
		return &frame{find: func([]byte, bool) (int, int) { return 0, -1 },
			rest: func(b []byte, _ bool) bool { return len(bytes.TrimSpace(b)) > 0 }}
	case m.kind == "csv" && m.csv.multiline && m.csv.quote != 0:
		quote := []byte(string(m.csv.quote))
		return &frame{find: func(b []byte, _ bool) (int, int) { return 0, quotedLine(b, quote) },
			rest: func(b []byte, _ bool) bool { return len(b) > 0 }}
	}
	return nil
}

// jsonFrame finds objects: of a list, one after the other, or within the list
// of a name.
type jsonFrame struct {
	name string
	list *regexp.Regexp
}

func (f *jsonFrame) find(b []byte, first bool) (start, end int) {
	start = f.begin(b, first)
	if start < 0 {
		return 0, -1
	}
	depth, quoted := 0, false
	for i := start; i < len(b); i++ {
		switch c := b[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '{' || c == '[':
			depth++
		case c == '}' || c == ']':
			if depth--; depth == 0 {
				return start, i + 1
			}
		}
	}
	return start, -1
}

// begin finds where the next object begins; -1: nowhere yet.
func (f *jsonFrame) begin(b []byte, first bool) int {
	i := 0
	for i < len(b) && bytes.IndexByte([]byte(" \t\r\n,"), b[i]) >= 0 {
		i++
	}
	if f.list != nil && (first || i < len(b) && b[i] != '{') {
		at := f.list.FindIndex(b[i:])
		if at == nil {
			return -1
		}
		i += at[1]
	}
	if at := bytes.IndexByte(b[i:], '{'); at >= 0 {
		return i + at
	}
	return -1
}

// xmlBegin finds an element of the name, not of a longer one.
func xmlBegin(b, open []byte) int {
	for i := 0; ; {
		at := bytes.Index(b[i:], open)
		if at < 0 {
			return -1
		}
		next := i + at + len(open)
		if next < len(b) && bytes.IndexByte([]byte(" \t\r\n/>"), b[next]) >= 0 {
			return i + at
		}
		i = next
	}
}

func xmlRecord(b, open, closing []byte) (start, end int) {
	if start = xmlBegin(b, open); start < 0 {
		return 0, -1
	}
	quote := byte(0)
	for i := start; i < len(b); i++ {
		switch c := b[i]; {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'':
			quote = c
		case c == '>' && b[i-1] == '/':
			return start, i + 1
		case c == '>':
			at := xmlBegin(b[i:], closing)
			if at < 0 {
				return start, -1
			}
			stop := bytes.IndexByte(b[i+at:], '>')
			if stop < 0 {
				return start, -1
			}
			return start, i + at + stop + 1
		}
	}
	return start, -1
}

// blankRecord ends at an empty line.
func blankRecord(b []byte, _ bool) (start, end int) {
	for start < len(b) && (b[start] == '\n' || b[start] == '\r') {
		start++
	}
	for _, gap := range []string{"\n\n", "\n\r\n"} {
		if at := bytes.Index(b[start:], []byte(gap)); at >= 0 && (end <= 0 || start+at < end) {
			end = start + at
		}
	}
	if end <= 0 {
		return start, -1
	}
	return start, end
}

// quotedLine finds the line end outside of quotes.
func quotedLine(b, quote []byte) (end int) {
	quoted := false
	for i := 0; i < len(b); i++ {
		switch {
		case bytes.HasPrefix(b[i:], quote):
			quoted = !quoted
		case b[i] == '\n' && !quoted:
			return i + 1
		}
	}
	return -1
}
