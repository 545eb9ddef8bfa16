package feed

import "fmt"

// What a file may hold its table in.
const (
	holderWorkbook = "xlsx"
	holderDatabase = "sqlite"
)

// errorValues are what a spreadsheet shows where a formula came to nothing.
var errorValues = []string{"#N/A", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#NULL!"}

// readHolder reads what of a workbook or a database is meant.
func (m *Map) readHolder(format string, k map[string]node) error {
	for section, of := range map[string]string{"workbook": holderWorkbook, "database": holderDatabase} {
		n, ok := k[section]
		if ok && format != of {
			return n.bad("stands in a map of format "+format, "remove it, or write `format: "+of+"`")
		}
	}
	switch format {
	case holderWorkbook:
		m.holder = format
		for _, s := range errorValues {
			m.missing[s] = true
		}
		if n, ok := k["workbook"]; ok {
			return n.texts("workbook", map[string]*string{"sheet": &m.sheet})
		}
	case holderDatabase:
		m.holder = format
		if n, ok := k["database"]; ok {
			if err := n.texts("database", map[string]*string{"table": &m.table.Name, "query": &m.table.Query}); err != nil {
				return err
			}
			if m.table.Name != "" && m.table.Query != "" {
				return n.bad("says both table and query", "keep one of the two")
			}
		}
	default:
		return nil
	}
	return m.holderAlone(k)
}

// holderAlone refuses what says how bytes are written: a workbook's and a
// database's own format says that.
func (m *Map) holderAlone(k map[string]node) error {
	if n, ok := k["encoding"]; ok {
		return n.bad("does not apply to format "+m.holder, "remove it: the file says it itself")
	}
	n, ok := k["csv"]
	if !ok {
		return nil
	}
	inside, err := n.keys(allowed("csv")...)
	if err != nil {
		return err
	}
	for _, key := range []string{"delimiter", "quote", "widths", "multiline"} {
		if c, ok := inside[key]; ok {
			return c.bad("does not apply to format "+m.holder, "remove it: cells are cells there")
		}
	}
	return nil
}

// texts reads the texts of a section.
func (n node) texts(section string, to map[string]*string) error {
	k, err := n.keys(allowed(section)...)
	if err != nil {
		return err
	}
	for key, at := range to {
		c, ok := k[key]
		if !ok {
			continue
		}
		if *at, err = c.str(); err != nil {
			return err
		}
		if *at == "" {
			return c.bad("is empty", fmt.Sprintf("name it, or leave %s out", key))
		}
	}
	return nil
}
