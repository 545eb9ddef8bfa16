package event

import (
	"fmt"
	"io"
	"strings"

	"fairlead/ingest/contract/unit"
)

// WriteFields lists the fields that a field map may name, with quantity, stored
// unit and range.
func WriteFields(w io.Writer) error {
	for _, f := range Fields() {
		side := ""
		if f.Mirrors {
			side = "  positive is right of target"
		}
		if _, err := fmt.Fprintf(w, "%-18s %-12s %-5s %g to %g%s\n", f.Name, f.Quantity, unit.Stored(f.Quantity), f.Min, f.Max,
			side); err != nil {
			return err
		}
	}
	return nil
}

// Units are the units that a field map may name, by quantity.
type Units map[unit.Quantity][]string

// FieldUnits lists the units of the quantities that fields have.
func FieldUnits() Units {
	all := Units{}
	for _, f := range Fields() {
		if _, ok := all[f.Quantity]; !ok {
			all[f.Quantity] = append(unit.Names(f.Quantity), unit.Spellings(f.Quantity)...)
		}
	}
	return all
}

// WriteText lists them in the order in which fields have need of them.
func (u Units) WriteText(w io.Writer) error {
	said := map[unit.Quantity]bool{}
	for _, f := range Fields() {
		if said[f.Quantity] {
			continue
		}
		said[f.Quantity] = true
		var names []string
		for _, n := range u[f.Quantity] {
			if n != "" {
				names = append(names, n)
			}
		}
		if _, err := fmt.Fprintf(w, "%-12s %s\n", f.Quantity, strings.Join(names, ", ")); err != nil {
			return err
		}
	}
	return nil
}
