package table

import (
	"strings"

	"fairlead/ingest/contract/unit"
)

// Column is one that a table may have: a name, with or without its unit behind it
// (carry, carry_m, carry_yd).
type Column struct {
	Names    []string // first the name that errors use
	Quantity unit.Quantity
	Text     bool // words, not a number
}

// Of names a column of numbers; further names mean the same.
func Of(q unit.Quantity, names ...string) Column { return Column{Names: names, Quantity: q} }

// Words names a column of words.
func Words(names ...string) Column { return Column{Names: names, Text: true} }

// String is the column's name with its stored unit, as it may stand in a header.
func (c Column) String() string {
	name := c.Names[0]
	if c.Text {
		return name
	}
	if u := map[unit.Quantity]string{unit.Speed: "mps", unit.Ratio: "ratio"}[c.Quantity]; u != "" {
		return name + "_" + u
	}
	return name + "_" + unit.Stored(c.Quantity)
}

func columnNames(columns []Column) string {
	var out []string
	for _, c := range columns {
		out = append(out, c.String())
	}
	return strings.Join(out, ", ")
}

// match finds the column that a header means, longest name first, and the
// converter of the unit behind it.
func match(header string, columns []Column) (Column, unit.Converter, bool, error) {
	low := strings.ToLower(header)
	var best Column
	length := 0
	for _, col := range columns {
		for _, n := range col.Names {
			if len(n) > length && (low == n || strings.HasPrefix(low, n+"_")) {
				best, length = col, len(n)
			}
		}
	}
	if length == 0 {
		return best, unit.Converter{}, false, nil
	}
	suffix := strings.TrimPrefix(low[length:], "_")
	if best.Text {
		return best, unit.Converter{}, suffix == "", nil
	}
	if best.Quantity == unit.Ratio && suffix == "ratio" {
		suffix = ""
	}
	conv, err := unit.Lookup(best.Quantity, suffix)
	if err != nil {
		return best, conv, false, err
	}
	return best, conv, true, nil
}
