package sample

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// readMatrix reads lists of values, whose names stand in a list of their own
// beside them: {"columns": [...], "data": [[...], ...]}.
func (t *Table) readMatrix(texts []string) bool {
	for i, text := range texts {
		for _, v := range values(text) {
			object, ok := v.(map[string]any)
			if !ok {
				return false
			}
			name, rows, titles := matrixOf(object)
			if name == "" || t.Records != "" && t.Records != name {
				return false
			}
			t.Format, t.Records = "json", name
			for _, row := range rows[:min(len(rows), maxRows)] {
				t.list(row, i)
			}
			t.entitle(titles)
		}
	}
	return t.Rows > 0
}

func matrixOf(object map[string]any) (name string, rows [][]any, titles []string) {
	for _, key := range sorted(object) {
		list, _ := object[key].([]any)
		var found [][]any
		for _, item := range list {
			if row, ok := item.([]any); ok && len(row) >= 3 && (found == nil || len(row) == len(found[0])) {
				found = append(found, row)
			}
		}
		if len(found) > 1 && len(found) == len(list) {
			name, rows = key, found
		}
	}
	if name == "" {
		return "", nil, nil
	}
	for _, key := range sorted(object) {
		if list, ok := object[key].([]any); ok && key != name && len(list) == len(rows[0]) {
			if titles = textsOf(list); titles != nil {
				return name, rows, titles
			}
		}
	}
	return "", nil, nil
}

// textsOf are the texts of a list, or the names of its objects; nil where there
// are other things.
func textsOf(list []any) (out []string) {
	for _, item := range list {
		if object, ok := item.(map[string]any); ok {
			item = object["name"]
		}
		text, ok := item.(string)
		if !ok {
			return nil
		}
		out = append(out, text)
	}
	return out
}

// list reads one list of values as a row.
func (t *Table) list(row []any, file int) {
	for i, v := range row {
		t.flatten(strconv.Itoa(i), v)
	}
	t.endRow(file)
}

// entitle says what the columns of lists are called.
func (t *Table) entitle(titles []string) {
	for i := range t.Columns {
		if n, err := strconv.Atoi(t.Columns[i].Name); err == nil && n < len(titles) {
			t.Columns[i].Title = titles[n]
		}
	}
}

// readListLines reads a list of values a line, the first of their names.
func (t *Table) readListLines(texts []string) bool {
	var titles []string
	for i, text := range texts {
		for line := range strings.Lines(text) {
			line = strings.TrimSpace(line)
			var row []any
			d := json.NewDecoder(strings.NewReader(line))
			d.UseNumber()
			if line == "" || t.Rows >= maxRows {
				continue
			}
			if line[0] != '[' || d.Decode(&row) != nil || len(row) < 3 {
				return false
			}
			if names := textsOf(row); names != nil && t.Rows == 0 {
				titles = names
				t.skipLine("^" + regexp.QuoteMeta(strings.SplitAfterN(line, ",", 3)[0]))
				continue
			}
			if titles == nil {
				return false
			}
			t.list(row, i)
		}
	}
	t.Format = "ndjson"
	t.entitle(titles)
	return t.Rows > 0
}

// readKeyed reads an object whose keys are the shots' own: {"shots": {"17":
// {...}, "18": {...}}}.
func (t *Table) readKeyed(texts []string) bool {
	for i, text := range texts {
		for _, v := range values(text) {
			object, ok := v.(map[string]any)
			if !ok {
				return false
			}
			name := keyedOf(object)
			if name == "" || t.Records != "" && t.Records != name {
				return false
			}
			t.Format, t.Records = "json", name
			shots := object[name].(map[string]any)
			for _, key := range sorted(shots) {
				t.put("@key", key)
				t.flatten("", shots[key])
				t.endRow(i)
			}
			t.Columns[0].Title = "shot id"
			t.around("", v, name)
		}
	}
	return t.Rows > 0
}

// keyedOf is the key of an object within whose keys hold figures and whose
// values are objects alike.
func keyedOf(object map[string]any) string {
	for _, name := range sorted(object) {
		shots, _ := object[name].(map[string]any)
		if len(shots) < 2 {
			continue
		}
		alike, first := 0, ""
		for _, key := range sorted(shots) {
			shot, ok := shots[key].(map[string]any)
			if !ok || len(shot) < 3 || !strings.ContainsAny(key, "0123456789") {
				continue
			}
			if keys := fmt.Sprint(sorted(shot)); first == "" || first == keys {
				first = keys
				alike++
			}
		}
		if alike == len(shots) {
			return name
		}
	}
	return ""
}

func sorted(object map[string]any) []string {
	keys := make([]string, 0, len(object))
	for k := range object {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return slices.Compact(keys)
}
