package sample

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"sort"
	"strings"
)

// readJSON reads one object a line, a list, a list within an object, or objects
// one after the other.
func (t *Table) readJSON(texts []string) bool {
	if t.readObjectLines(texts) {
		return true
	}
	var found []any
	var of []int
	name, named := "", false
	for i, text := range texts {
		at := strings.IndexAny(text, "[{")
		if at < 0 {
			continue
		}
		objects := objectsOfLog(text)
		if objects == nil {
			objects = values(text[at:])
		}
		for _, v := range objects {
			list, key := records(v)
			if !named && len(list) > 0 {
				name, named = key, true
			}
			for _, r := range list {
				found, of = append(found, r), append(of, i)
			}
		}
	}
	if len(found) == 0 {
		return false
	}
	t.Format, t.Records = "json", name
	for _, text := range texts[:1] {
		for _, v := range values(text[max(0, strings.IndexAny(text, "[{")):]) {
			t.around("", v, name)
		}
	}
	for i, r := range found[:min(len(found), maxRows)] {
		t.flatten("", r)
		t.endRow(of[i])
	}
	if name == "" && t.Rows < maxRows {
		var lines []string
		for _, text := range texts {
			for line := range strings.Lines(text) {
				if at := strings.IndexByte(line, '{'); at > 0 && strings.TrimSpace(line[:at]) != "" {
					lines = append(lines, line)
				}
			}
		}
		t.Above = append(t.Above, t.timed(lines)...)
	}
	return true
}

// objectsOfLog are the objects of lines that have words before them; nil where
// most lines have not.
func objectsOfLog(text string) (out []any) {
	lines := 0
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		lines++
		if at := strings.IndexByte(line, '{'); at > 0 && json.Valid([]byte(line[at:])) {
			out = append(out, values(line[at:])...)
		}
	}
	if len(out)*10 < lines*6 || len(out) < 2 {
		return nil
	}
	return out
}

// around notes what stands beside the list of shots, a value a line.
func (t *Table) around(path string, v any, records string) {
	object, ok := v.(map[string]any)
	if !ok || records == "" || len(t.Preamble) > 100 {
		return
	}
	for k, v := range object {
		switch v := v.(type) {
		case map[string]any:
			t.around(path+k+" ", v, records)
		case string:
			t.Preamble = append(t.Preamble, path+k+": "+v)
		}
	}
	sort.Strings(t.Preamble)
}

// readObjectLines reads files of which most lines are an object each.
func (t *Table) readObjectLines(texts []string) bool {
	objects, other := 0, 0
	for _, text := range texts {
		for line := range strings.Lines(text) {
			line = strings.TrimSpace(line)
			switch {
			case line == "":
			case line[0] == '{' && json.Valid([]byte(line)):
				if objects++; objects == 1 && holds(values(line)[0]) {
					return false
				}
			default:
				other++
			}
		}
	}
	if objects == 0 || other > objects/2+1 {
		return false
	}
	t.Format = "ndjson"
	for i, text := range texts {
		for line := range strings.Lines(text) {
			line = strings.TrimSpace(line)
			if line == "" || t.Rows >= maxRows {
				continue
			}
			v := values(line)
			if line[0] != '{' || len(v) != 1 || !json.Valid([]byte(line)) {
				t.comment(line)
				continue
			}
			t.flatten("", v[0])
			t.endRow(i)
		}
	}
	return t.Rows > 0
}

// comment notes the mark with which a line begins that is no record.
func (t *Table) comment(line string) {
	for _, mark := range []string{"#", "//", "%", "!", ";", "*", "--"} {
		if strings.HasPrefix(line, mark) {
			for _, have := range t.Comments {
				if have == mark {
					return
				}
			}
			t.Comments = append(t.Comments, mark)
			return
		}
	}
}

// values reads JSON values one after the other; what was not closed yet is closed.
func values(text string) (out []any) {
	text = strings.TrimRight(text, " \t\r\n,")
	for _, closing := range []string{"", unclosed(text)} {
		d := json.NewDecoder(strings.NewReader(text + closing))
		d.UseNumber()
		out = nil
		for {
			var v any
			err := d.Decode(&v)
			if err == io.EOF {
				return out
			}
			if err != nil {
				break
			}
			out = append(out, v)
		}
	}
	return out
}

// unclosed is what closes the objects and lists that a text leaves open.
func unclosed(text string) string {
	var open []byte
	quoted := false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '{':
			open = append(open, '}')
		case c == '[':
			open = append(open, ']')
		case (c == '}' || c == ']') && len(open) > 0:
			open = open[:len(open)-1]
		}
	}
	slices.Reverse(open)
	return string(open)
}

// records finds the shots in a value: a list of objects, the largest one within
// an object, or the object itself.
func records(v any) (list []any, key string) {
	switch v := v.(type) {
	case []any:
		if named(v) != nil {
			return nil, ""
		}
		for _, item := range v {
			if object, ok := item.(map[string]any); ok {
				inner, name := records(item)
				if name != "" && numbersOf(object) < 3 { // else a shot that has a list, such as its flight

					list, key = append(list, inner...), name
				} else {
					list = append(list, item)
				}
			}
		}
		return list, key
	case map[string]any:
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		sort.Strings(keys)
		for _, k := range keys {
			inner, name := records(v[k])
			_, isList := v[k].([]any)
			if name == "" && isList && len(inner) > 0 {
				name = k
			}
			if name != "" && len(inner) > len(list) {
				list, key = inner, name
			}
		}
		if key != "" {
			return list, key
		}
		return []any{v}, ""
	}
	return nil, ""
}

// flatten puts an object's values under their paths.
func (t *Table) flatten(path string, v any) {
	switch v := v.(type) {
	case map[string]any:
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		sort.Strings(keys)
		for _, k := range keys[:min(len(keys), maxColumns)] {
			p := k
			if path != "" {
				p = path + "." + k
			}
			t.flatten(p, v[k])
		}
	case []any:
		if names := named(v); names != nil {
			for i, name := range names[:min(len(names), 60)] {
				t.flatten(path+"."+name, v[i])
			}
			return
		}
		for i, item := range v {
			if i < 8 {
				t.flatten(fmt.Sprintf("%s.%d", path, i), item)
			}
		}
	case nil:
		t.put(path, "")
	case json.Number:
		t.put(path, v.String())
	case string:
		t.put(path, strings.TrimSpace(v))
	default:
		t.put(path, fmt.Sprint(v))
	}
}
