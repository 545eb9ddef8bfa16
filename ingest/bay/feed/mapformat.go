package feed

import (
	"strings"
	"unicode/utf8"

	"fairlead/ingest/bay/sheet"
)

// readFormat reads how the file is written: format, encoding, csv, numbers,
// comment and missing markers.
func (m *Map) readFormat(k map[string]node) error {
	format := "csv"
	if n, ok := k["format"]; ok {
		var err error
		if format, err = n.oneOf("csv", "ndjson", "json", "xml", "keys", "text", "xlsx", "sqlite"); err != nil {
			return err
		}
	}
	err := m.readHolder(format, k)
	if m.holder != "" {
		format = "csv"
	}
	if err != nil {
		return err
	}
	m.kind, m.ndjson = format, format != "csv"
	if err := m.readRecords(k); err != nil {
		return err
	}
	if n, ok := k["encoding"]; ok {
		name, err := n.oneOf(encodingNames...)
		if err != nil {
			return err
		}
		m.enc = encodingByName(name)
	}
	if n, ok := k["comment"]; ok {
		if m.comment, err = n.strs(); err != nil {
			return err
		}
	}
	if n, ok := k["missing"]; ok {
		markers, err := n.strs()
		if err != nil {
			return err
		}
		for _, s := range markers {
			m.missing[strings.TrimSpace(s)] = true
		}
	}
	if n, ok := k["csv"]; ok {
		if m.ndjson {
			return n.bad("stands in a map of format "+format, "remove it, or write `format: csv`")
		}
		if err := m.readCSV(n); err != nil {
			return err
		}
	}
	if n, ok := k["numbers"]; ok {
		if err := m.readNumbers(n); err != nil {
			return err
		}
	}
	if !m.ndjson && m.num.decimal == m.csv.delimiter && m.csv.quote == 0 {
		return k["csv"].bad("delimiter and decimal are the same character, and there are no quotes", "check csv.delimiter and numbers.decimal")
	}
	return nil
}

func (m *Map) readCSV(n node) error {
	k, err := n.keys(allowed("csv")...)
	if err != nil {
		return err
	}
	if d, ok := k["delimiter"]; ok {
		if m.csv.delimiter, err = character(d, map[string]rune{"tab": '\t', `\t`: '\t', "space": ' ', "spaces": spaces}); err != nil {
			return err
		}
	}
	if q, ok := k["quote"]; ok {
		if m.csv.quote, err = character(q, map[string]rune{"none": 0}); err != nil {
			return err
		}
	}
	if m.csv.quote == m.csv.delimiter {
		return n.bad("quote and delimiter are the same character", "write `quote: none`")
	}
	if h, ok := k["header"]; ok {
		if m.csv.header, err = h.boolean(); err != nil {
			return err
		}
	}
	if s, ok := k["skip"]; ok {
		if m.csv.skip, err = s.integer(0, 1000); err != nil {
			return err
		}
	}
	for key, to := range map[string]*bool{"units": &m.csv.units, "multiline": &m.csv.multiline, "transposed": &m.csv.transposed} {
		if b, ok := k[key]; ok {
			if *to, err = b.boolean(); err != nil {
				return err
			}
		}
	}
	if w, ok := k["widths"]; ok {
		for _, item := range w.list() {
			width, err := item.integer(1, 1000)
			if err != nil {
				return err
			}
			m.csv.widths = append(m.csv.widths, width)
		}
	}
	if l, ok := k["long"]; ok {
		if err := m.readLong(l); err != nil {
			return err
		}
	}
	if m.turned() {
		if !m.csv.header || m.csv.widths != nil || m.csv.multiline || m.csv.transposed && m.csv.long != nil {
			return n.bad("is a table that is read as a whole, and only one with names, a delimiter and one turn", "leave header, widths and "+
				"multiline out, and write either transposed or long")
		}
		m.csv.above, m.csv.skip = m.csv.skip, 0
	}
	if c, ok := k["cells"]; ok {
		if m.csv.header {
			return c.bad("is for files without a header", "remove it: the header says how many cells a line has")
		}
		if m.csv.cells, err = c.integer(1, 4096); err != nil {
			return err
		}
	}
	return nil
}

// readLong reads which columns of a long table hold what.
func (m *Map) readLong(n node) error {
	k, err := n.keys(allowed("long")...)
	if err != nil {
		return err
	}
	m.csv.long = &sheet.Long{}
	for key, to := range map[string]*string{"name": &m.csv.long.Name, "value": &m.csv.long.Value, "unit": &m.csv.long.Unit} {
		c, ok := k[key]
		if !ok && key != "unit" {
			return n.bad("needs name and value", "write {name: Parameter, value: Value}, the columns as the first row names them")
		}
		if ok {
			if *to, err = c.str(); err != nil {
				return err
			}
		}
	}
	return nil
}

func (m *Map) readNumbers(n node) error {
	k, err := n.keys(allowed("numbers")...)
	if err != nil {
		return err
	}
	if d, ok := k["decimal"]; ok {
		s, err := d.oneOf(".", ",")
		if err != nil {
			return err
		}
		m.num.decimal = rune(s[0])
	}
	if s, ok := k["negative"]; ok {
		word, err := s.oneOf(negativeParentheses, negativeBehind)
		if err != nil {
			return err
		}
		m.num.negative = word
	}
	if t, ok := k["thousands"]; ok {
		if m.num.thousands, err = character(t, map[string]rune{"space": ' '}); err != nil {
			return err
		}
		if !strings.ContainsRune(".,' ", m.num.thousands) {
			return t.bad("does not stand between thousands", "use one of . , ' or space")
		}
		if m.num.thousands == m.num.decimal {
			return t.bad("is the decimal sign too", "check numbers.decimal")
		}
	}
	return nil
}

// character reads one character, or a word for one.
func character(n node, words map[string]rune) (rune, error) {
	s, err := n.str()
	if err != nil {
		return 0, err
	}
	if r, ok := words[s]; ok {
		return r, nil
	}
	r, size := utf8.DecodeRuneInString(s)
	if size != len(s) || size == 0 || r == '\n' || r == '\r' || r == 0 || r == utf8.RuneError {
		return 0, n.bad("is not one character", "write it in quotes, such as \";\", or tab")
	}
	return r, nil
}
