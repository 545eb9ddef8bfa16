package feed

import (
	"encoding/xml"
	"io"
	"strings"

	"fairlead/ingest/contract/event"
)

// kindText is of lines whose values stand among words: parts takes them out.
const kindText = "text"

// object reads a record that is not a row of cells.
func (m *Map) object(text string) (map[string]any, *event.Fault) {
	switch m.kind {
	case kindText:
		return map[string]any{"line": text}, nil
	case "xml":
		return decodeXML(text)
	case "keys":
		return m.keys.decode(text)
	}
	return decodeObject(text)
}

// decodeXML reads one element: attributes and elements within are keys alike,
// an element that has neither is its text, several of one name are a list.
func decodeXML(text string) (map[string]any, *event.Fault) {
	d := xml.NewDecoder(strings.NewReader(text))
	d.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil } // decoded already
	if strings.HasPrefix(text, "<tr") || strings.HasPrefix(text, "<TR") {                // the row of a page's table: pages are no strict XML
		d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	}
	for {
		token, err := d.Token()
		if err != nil {
			return nil, event.NewFault("", text, "is not an XML element: "+err.Error(), "the record may be cut short; check records in the map")
		}
		start, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		value, err := element(d, start, 0)
		if err != nil {
			return nil, event.NewFault("", text, "is not a whole XML element: "+err.Error(), "the record may be cut short")
		}
		if object, ok := value.(map[string]any); ok {
			return object, nil
		}
		return map[string]any{start.Name.Local: value}, nil
	}
}

const deepest = 32

func element(d *xml.Decoder, start xml.StartElement, depth int) (any, error) {
	object := map[string]any{}
	for _, a := range start.Attr {
		object[a.Name.Local] = a.Value
	}
	var said strings.Builder
	for {
		token, err := d.Token()
		if err != nil {
			return nil, err
		}
		switch t := token.(type) {
		case xml.CharData:
			said.Write(t)
		case xml.EndElement:
			words := strings.TrimSpace(said.String())
			if len(object) == 0 {
				return words, nil
			}
			if words != "" {
				object["text"] = words
			}
			return object, nil
		case xml.StartElement:
			if depth >= deepest {
				return nil, d.Skip()
			}
			v, err := element(d, t, depth+1)
			if err != nil {
				return nil, err
			}
			switch have := object[t.Name.Local].(type) {
			case nil:
				object[t.Name.Local] = v
			case []any:
				object[t.Name.Local] = append(have, v)
			default:
				object[t.Name.Local] = []any{have, v}
			}
		}
	}
}

// decode reads keys and values.
func (s keyStyle) decode(text string) (map[string]any, *event.Fault) {
	object := map[string]any{}
	for _, pair := range s.pairs(text) {
		key, value, ok := strings.Cut(pair, s.separator)
		if key = strings.TrimSpace(key); !ok || key == "" {
			continue // a heading, a word between
		}
		if strings.Trim(s.separator, " .") == "" { // dots that lead to the value: as many as there is room for
			value = strings.TrimLeft(value, ".")
		}
		if _, twice := object[key]; !twice {
			object[key] = strings.Trim(strings.TrimSpace(value), `"`)
		}
	}
	if len(object) == 0 {
		return nil, event.NewFault("", text, "holds no key and value", "check keys.separator and keys.between in the map")
	}
	return object, nil
}

// pairs cuts a record at what stands between pairs; at blanks, a value goes on
// up to the next word that has a separator.
func (s keyStyle) pairs(text string) []string {
	if s.between != "" {
		return strings.Split(strings.ReplaceAll(text, "\r", ""), s.between)
	}
	var out []string
	for _, word := range strings.Fields(text) {
		if strings.Contains(word, s.separator) || len(out) == 0 {
			out = append(out, word)
		} else {
			out[len(out)-1] += " " + word
		}
	}
	return out
}
