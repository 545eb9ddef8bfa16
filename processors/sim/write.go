package sim

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"

	"fairlead/ingest/contract/event"
)

// text writes a line.
func (d *Device) text(h *Hit, values map[event.Field]float64, info *line) string {
	if d.Style.ndjson {
		return d.object(h, values, info)
	}
	cells := make([]string, len(d.Columns))
	for i := range d.Columns {
		c := &d.Columns[i]
		if c.text != nil {
			cells[i] = c.text(info)
			continue
		}
		v, ok := values[c.field]
		if !ok || !plausible(v) {
			cells[i] = d.Style.missing
			continue
		}
		cells[i] = d.number(c, v, h.Left)
	}
	return joinCells(cells, d.Style.delimiter)
}

func joinCells(cells []string, delimiter string) string { return strings.Join(cells, delimiter) }

func (d *Device) number(c *cell, v float64, left bool) string {
	v = round(d.converter(c).From(c.side(v, left)), c.decimals)
	suffix := ""
	if c.letters {
		suffix = " R"
		if v < 0 {
			suffix = " L"
		}
		v = math.Abs(v)
	}
	s := strconv.FormatFloat(v, 'f', c.decimals, 64)
	if d.Style.comma {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s + suffix
}

// object writes a JSON object; a.b is the key b in the object a. Keys keep the
// order of the columns, as devices do.
func (d *Device) object(h *Hit, values map[event.Field]float64, info *line) string {
	var b strings.Builder
	b.WriteByte('{')
	open := ""
	first := true
	for i := range d.Columns {
		c := &d.Columns[i]
		group, key, nested := strings.Cut(c.name, ".")
		if !nested {
			group, key = "", c.name
		}
		var value string
		if c.text != nil {
			value = c.text(info)
		} else if v, ok := values[c.field]; ok && plausible(v) {
			value = d.number(c, v, h.Left)
		} else {
			continue
		}
		if group != open {
			if open != "" {
				b.WriteByte('}')
			}
			if group != "" {
				if !first {
					b.WriteByte(',')
				}
				b.WriteString(quoted(group) + ":{")
				first = true
			}
			open = group
		}
		if !first {
			b.WriteByte(',')
		}
		first = false
		b.WriteString(quoted(key) + ":" + value)
	}
	if open != "" {
		b.WriteByte('}')
	}
	b.WriteByte('}')
	return b.String()
}

// quoted writes a text as JSON.
func quoted(s string) string {
	out, err := json.Marshal(s)
	if err != nil {
		return `""` // a string always encodes
	}
	return string(out)
}
