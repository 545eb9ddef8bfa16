package sample

import (
	"encoding/json"
	"regexp"
	"strconv"
	"strings"

	"fairlead/ingest/bay/feed"
)

// named are the names by which the objects of a list call themselves, each with
// a value of its own: {"name": "carry", "value": 150.2, "unit": "m"}; nil of
// another list. A map names such a value by its path, the name in it.
func named(list []any) (names []string) {
	if len(list) < 3 || len(list) > mostNamed {
		return nil
	}
	seen := map[string]bool{}
	for _, item := range list {
		object, ok := item.(map[string]any)
		if !ok || numbersOf(object) > 1 {
			return nil
		}
		name := ""
		for _, key := range feed.ItemNames {
			if said, ok := object[key].(string); ok {
				name = strings.TrimSpace(said)
				break
			}
		}
		if name == "" || seen[name] || strings.Contains(name, ".") {
			return nil
		}
		seen[name] = true
		names = append(names, name)
	}
	return names
}

// mostNamed is how many values of one shot may say their names.
const mostNamed = 200

// figure is a number with its unit, and its side: 207.0 m, 3.1 deg R.
var figure = regexp.MustCompile(`^[-+−(]?\d[\d.,]*\)?(?:\s*[\p{L}°%/"']{1,10}\.?){0,2}$`)

// numbersOf counts an object's numbers, in the objects within too, but in no list.
func numbersOf(object map[string]any) (n int) {
	for _, v := range object {
		switch v := v.(type) {
		case json.Number:
			n++
		case string:
			if v = strings.TrimSpace(v); figure.MatchString(v) {
				n++
			} else if _, err := strconv.ParseFloat(v, 64); err == nil {
				n++
			}
		case map[string]any:
			n += numbersOf(v)
		}
	}
	return n
}

// holds says that an object is no shot but holds a list of them: it has hardly a
// number of its own beside.
func holds(v any) bool {
	object, ok := v.(map[string]any)
	if !ok {
		return false
	}
	list, key := records(v)
	if key == "" || len(list) < 2 {
		return false
	}
	first, _ := list[0].(map[string]any)
	return numbersOf(first) >= 3 && numbersOf(object) < 3
}

// calledByName says that the element is one of several that name themselves and
// hold a value each.
func (e *tree) calledByName() bool {
	if e.up == nil || len(e.up.kids) > mostNamed || e.ownName() == "" {
		return false
	}
	seen := map[string]bool{}
	for _, k := range e.up.kids {
		if k.name != e.name {
			continue
		}
		name := k.ownName()
		if name == "" || seen[name] || len(k.attr)+len(k.kids) > 4 {
			return false
		}
		seen[name] = true
	}
	return len(seen) >= 3
}

// ownName is what an element calls itself.
func (e *tree) ownName() string {
	for _, key := range feed.ItemNames {
		for _, a := range e.attr {
			if a.Name.Local == key && !strings.Contains(a.Value, ".") {
				if _, err := strconv.Atoi(strings.TrimSpace(a.Value)); err != nil {
					return strings.TrimSpace(a.Value)
				}
			}
		}
	}
	return ""
}
