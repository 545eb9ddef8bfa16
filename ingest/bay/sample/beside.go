package sample

import (
	"fairlead/ingest/bay/sheet"
)

// readBeside reads an object that has a list for each column: {"speed": [52.9,
// 53.1], "carry": [150.2, 151]}.
func (t *Table) readBeside(texts []string) bool {
	for i, text := range texts {
		for _, v := range values(text) {
			object, ok := v.(map[string]any)
			if !ok {
				return false
			}
			n := sheet.BesideOf(object)
			if n == 0 {
				return false
			}
			for k := range min(n, maxRows-t.Rows) {
				t.flatten("", sheet.Beside(object, n, k, true))
				t.endRow(i)
			}
			t.around("", v, sheet.RecordsBeside)
		}
	}
	t.Format, t.Records = "json", sheet.RecordsBeside
	return t.Rows > 0
}
