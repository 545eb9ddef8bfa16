package feed

import (
	"encoding/json"
	"io"
	"strconv"
	"strings"

	"fairlead/ingest/contract/event"
)

// decodeObject reads one JSON object; numbers keep their text.
func decodeObject(text string) (map[string]any, *event.Fault) {
	d := json.NewDecoder(strings.NewReader(text))
	d.UseNumber()
	var object map[string]any
	if err := d.Decode(&object); err != nil {
		return nil, event.NewFault("", text, "is not a JSON object: "+err.Error(),
			"each line must be one whole object; the line may be cut short")
	}
	if object == nil {
		return nil, event.NewFault("", text, "is null", "each line must be one whole object")
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, event.NewFault("", text, "goes on behind the JSON object", "write one object a line")
	}
	return object, nil
}

// lookup finds a column's key: the whole name first, then key by key down the
// path. Numbers step into lists, from 0. An absent key is a missing value.
func lookup(object map[string]any, c *column) cell {
	found := lookupPath(object, c.name, c.path)
	for _, other := range c.also {
		if !found.missing || found.problem != "" {
			break
		}
		found = lookupPath(object, other, strings.Split(other, "."))
	}
	return found
}

func lookupPath(object map[string]any, name string, path []string) cell {
	if v, ok := object[name]; ok {
		return jsonCell(v)
	}
	var at any = object
	for _, key := range path {
		switch in := at.(type) {
		case map[string]any:
			at = in[key]
		case []any:
			i, err := strconv.Atoi(key)
			if err != nil || i < 0 || i >= len(in) {
				return cell{missing: true}
			}
			at = in[i]
		default:
			return cell{missing: true}
		}
	}
	return jsonCell(at)
}

func jsonCell(v any) cell {
	switch v := v.(type) {
	case nil:
		return cell{missing: true}
	case json.Number:
		return cell{text: v.String(), number: true}
	case string:
		return cell{text: strings.TrimSpace(v)}
	case bool:
		return cell{text: strconv.FormatBool(v)}
	}
	return cell{problem: "is an object or a list, not a value", hint: "write the path to the value, such as ball.speed"}
}
