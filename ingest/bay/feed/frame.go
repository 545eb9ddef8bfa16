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
		if m.records != "" && !m.beside() {
			f.list = regexp.MustCompile(`"` + regexp.QuoteMeta(m.records) + `"\s*:\s*(?:\[|\{\s*(?:"[^"]*"\s*:\s*\{))`)
		}
		return &frame{find: f.find, rest: func(b []byte, first bool) bool { return f.begin(b, first) >= 0 }}
	case m.kind == "xml":
		open := []byte("<" + m.records)
		return &frame{find: func(b []byte, _ bool) (int, int) { return xmlRecord(b, open, []byte("</"+m.records)) },
			rest: func(b []byte, _ bool) bool { return xmlBegin(b, open) >= 0 }}
	case m.kind == "keys" && m.records == recordBlank:
		return &frame{find: blankRecord, rest: func(b []byte, _ bool) bool { return len(bytes.TrimSpace(b)) > 0 }}
	case m.kind == "keys" && m.records != recordFile && m.records != recordLine:
		begins := []byte(m.records)
		return &frame{find: func(b []byte, _ bool) (int, int) { return begunRecord(b, begins) },
			rest: func(b []byte, _ bool) bool { return lineBegin(b, begins) >= 0 }}
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
// or the object of a name. What stands in that list may be lists themselves, and
// in that object each shot's key belongs to it.
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

var jsonKeyed = regexp.MustCompile(`^"(?:[^"\\]|\\.)*"\s*:\s*\{`)

// begin finds where the next object begins; -1: nowhere yet.
func (f *jsonFrame) begin(b []byte, first bool) int {
	i := blanks(b, 0)
	if f.list == nil {
		if at := bytes.IndexByte(b[i:], '{'); at >= 0 {
			return i + at
		}
		return -1
	}
	if !first && i < len(b) && (b[i] == '{' || b[i] == '[' || jsonKeyed.Match(b[i:])) {
		return i
	}
	at := f.list.FindIndex(b[i:])
	if at == nil {
		return -1
	}
	if b[i+at[1]-1] == '{' { // of an object whose keys are the shots'
		colon := bytes.IndexByte(b[i+at[0]+1+len(f.name):], ':') + i + at[0] + 1 + len(f.name)
		return blanks(b, bytes.IndexByte(b[colon:], '{')+colon+1)
	}
	if i = blanks(b, i+at[1]); i < len(b) && b[i] == '[' {
		return i
	}
	if at := bytes.IndexByte(b[i:], '{'); at >= 0 {
		return i + at
	}
	return -1
}

// blanks passes what stands between two values.
func blanks(b []byte, i int) int {
	for i < len(b) && bytes.IndexByte([]byte(" \t\r\n,"), b[i]) >= 0 {
		i++
	}
	return i
}

// xmlBegin finds an element of the name, not of a longer one.
func xmlBegin(b, open []byte) int {
	slash := bytes.HasPrefix(open, []byte("</"))
	name := bytes.TrimLeft(open, "</")
	for i := 0; ; {
		at := bytes.Index(b[i:], name)
		if at < 0 {
			return -1
		}
		next := i + at + len(name)
		if next < len(b) && bytes.IndexByte([]byte(" \t\r\n/>"), b[next]) >= 0 {
			if begin := tagBegin(b[:i+at], slash); begin >= 0 {
				return begin
			}
		}
		i = next
	}
}

// tagBegin is where a tag begins whose name follows, with a prefix or without;
// -1 where the text before is none of a tag.
func tagBegin(b []byte, closing bool) int {
	i := len(b)
	if i > 0 && b[i-1] == ':' {
		for i--; i > 0 && b[i-1] != '<' && b[i-1] != '/' && b[i-1] > ' ' && b[i-1] != '>'; i-- {
		}
	}
	if closing {
		if i--; i < 0 || b[i] != '/' {
			return -1
		}
	}
	if i--; i < 0 || b[i] != '<' {
		return -1
	}
	return i
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

// begunRecord begins at a line that begins so, and ends before the next one.
func begunRecord(b, begins []byte) (start, end int) {
	if start = lineBegin(b, begins); start < 0 {
		return 0, -1
	}
	if next := lineBegin(b[start+len(begins):], append([]byte{'\n'}, begins...)); next >= 0 {
		return start, start + len(begins) + next
	}
	return start, -1
}

// lineBegin finds a text at the beginning of a line; one that itself begins with
// a line end is found anywhere.
func lineBegin(b, begins []byte) int {
	for i := 0; ; {
		at := bytes.Index(b[i:], begins)
		if at < 0 {
			return -1
		}
		if i += at; i == 0 || b[i-1] == '\n' || begins[0] == '\n' {
			return i
		}
		i++
	}
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
