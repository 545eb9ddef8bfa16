package feed

import (
	"encoding/json"
	"io"
	"strconv"
	"strings"

	"fairlead/ingest/contract/event"
)

// keyColumn is the column of a shot's key, where the key of an object names it.
const keyColumn = "@key"

// decodeObject reads one JSON object; numbers keep their text. Of a list the
// values are found by their places, from 0; an object with its key before it has
// that as a value of its own.
func decodeObject(text string) (map[string]any, *event.Fault) {
	whole := text
	if strings.HasPrefix(text, `"`) {
		whole = "{" + text + "}"
	}
	d := json.NewDecoder(strings.NewReader(whole))
	d.UseNumber()
	var value any
	if err := d.Decode(&value); err != nil {
		return nil, event.NewFault("", text, "is not a JSON object: "+err.Error(),
			"each line must be one whole object; the line may be cut short")
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, event.NewFault("", text, "goes on behind the JSON object", "write one object a line")
	}
	switch v := value.(type) {
	case nil:
		return nil, event.NewFault("", text, "is null", "each line must be one whole object")
	case []any:
		object := make(map[string]any, len(v))
		for i := range v {
			object[strconv.Itoa(i)] = v[i]
		}
		return object, nil
	case map[string]any:
		if len(whole) == len(text) || len(v) != 1 {
			return v, nil
		}
		for key, inner := range v {
			if object, ok := inner.(map[string]any); ok {
				object[keyColumn] = key
				return object, nil
			}
		}
	}
	return nil, event.NewFault("", text, "is not a JSON object", "each line must be one whole object, or a list of values")
}

// lookup finds a column's key: the whole name first, then key by key down the
// path. Numbers step into lists, from 0, names to the object that is called so. An
// absent key is a missing value.
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
			if i, err := strconv.Atoi(key); err == nil && i >= 0 && i < len(in) {
				at = in[i]
			} else if at = namedItem(in, key); at == nil {
				return cell{missing: true}
			}
		default:
			return cell{missing: true}
		}
	}
	return jsonCell(at)
}

// namedItem finds the object of a list that says that this is its name; nil where
// none does, or two do.
func namedItem(list []any, name string) (found any) {
	for _, item := range list {
		object, _ := item.(map[string]any)
		for _, key := range ItemNames {
			if said, ok := object[key].(string); ok && strings.TrimSpace(said) == name {
				if found != nil {
					return nil
				}
				found = item
				break
			}
		}
	}
	return found
}

// ItemNames are the keys under which the object of a list may say which of them it
// is: a path has its name there, as it has a number.
var ItemNames = []string{"name", "key", "parameter", "param", "measure", "metric", "field", "label", "type", "id", "code"}

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
