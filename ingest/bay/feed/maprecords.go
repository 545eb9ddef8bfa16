package feed

import (
	"regexp"
	"strings"
)

// keyStyle says how a record of keys and values is written.
type keyStyle struct {
	separator string // between a key and its value: "="
	between   string // between pairs; "" for blanks
}

// Where a record of keys ends.
const (
	recordLine  = "line"
	recordBlank = "blank" // at an empty line
	recordFile  = "file"  // a file is one shot
	// Any other text: a line that begins so begins a record.
)

// readRecords reads what one record is: records and keys.
func (m *Map) readRecords(k map[string]node) (err error) {
	n, ok := k["records"]
	if ok {
		if m.records, err = n.str(); err != nil {
			return err
		}
	}
	switch m.kind {
	case "xml":
		if m.records == "" {
			return k["format"].bad("needs the name of a shot's element", "add `records: shot`, or what the element is called")
		}
	case "keys":
		m.keys = keyStyle{separator: "="}
		if m.records == "" {
			m.records = recordLine
		}
		if m.records != recordLine {
			m.keys.separator, m.keys.between = ":", "\n"
		}
		if n, ok := k["keys"]; ok {
			return m.readKeys(n)
		}
		return nil
	case "json":
	default:
		if ok {
			return n.bad("does not apply to format "+m.kind, "remove it")
		}
	}
	if n, ok := k["keys"]; ok {
		return n.bad("is for format keys", "remove it")
	}
	return nil
}

func (m *Map) readKeys(n node) error {
	k, err := n.keys(allowed("keys")...)
	if err != nil {
		return err
	}
	for key, to := range map[string]*string{"separator": &m.keys.separator, "between": &m.keys.between} {
		if c, ok := k[key]; ok {
			if *to, err = c.str(); err != nil {
				return err
			}
			if *to == " " {
				*to = ""
			}
		}
	}
	if m.keys.separator == "" {
		return n.bad("needs a separator", "write the sign between a key and its value, such as \"=\"")
	}
	return nil
}

// rowRule keeps or leaves out lines by a column, or by the whole line.
type rowRule struct {
	keep    bool
	slot    int // -1: the whole line
	pattern *regexp.Regexp
}

// readRows reads skip_rows and keep_rows: lists of {column: NAME, matches:
// PATTERN}, or {line: PATTERN}.
func (m *Map) readRows(k map[string]node) error {
	for _, key := range []string{"skip_rows", "keep_rows"} {
		n, ok := k[key]
		if !ok {
			continue
		}
		for _, item := range n.list() {
			r, err := m.readRow(item)
			if err != nil {
				return err
			}
			r.keep = key == "keep_rows"
			m.rows = append(m.rows, r)
		}
	}
	return nil
}

func (m *Map) readRow(n node) (r rowRule, err error) {
	r.slot = -1
	k, err := n.keys(allowed("rows")...)
	if err != nil {
		return r, err
	}
	at, whole := k["line"]
	if !whole {
		c, ok := k["column"]
		if at, whole = k["matches"]; !ok || !whole {
			return r, n.bad("needs column and matches, or line", "write {column: Kind, matches: practice} or {line: \"^Average\"}")
		}
		if r.slot, err = m.slot(c, false); err != nil {
			return r, err
		}
	}
	text, err := at.str()
	if err != nil {
		return r, err
	}
	if r.pattern, err = regexp.Compile("(?i)" + text); err != nil {
		return r, at.bad("is no pattern: "+err.Error(), "write a regular expression, or a plain word")
	}
	return r, nil
}

// leftOut says whether the map's rules leave a line out.
func (p *Parser) leftOut(text string, cells []string) bool {
	p.text = text
	get := func(slot int) cell { return p.cellAt(slot, cells) }
	if p.m.ndjson {
		object, fault := p.m.object(text)
		if fault != nil {
			object = nil
		}
		get = func(slot int) cell { return p.lookup(object, slot) }
	}
	for _, r := range p.m.rows {
		said := text
		if r.slot >= 0 {
			said = get(r.slot).text
		}
		if r.pattern.MatchString(said) != r.keep {
			return true
		}
	}
	return false
}

func (m *Map) isComment(line string) bool {
	for _, c := range m.comment {
		if c != "" && strings.HasPrefix(line, c) {
			return true
		}
	}
	return false
}
