package guess

import (
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// What somebody says of one column or field outranks what a draft makes of it.
// It stands among the answers, under these keys.
const (
	ToldField = "field:" // and the column's name: a field, or NoField
	ToldUnit  = "unit:"  // and the field's name: a unit
	ToldTurn  = "turn:"  // and the field's name: yes, to count the other way round than is drafted
	NoField   = "none"
)

// toldFields gives columns the fields that they are said to be.
func (d *draft) toldFields() {
	for _, c := range d.cols {
		told, ok := d.answers[ToldField+c.Name]
		if !ok {
			continue
		}
		info, known := event.FieldNamed(told)
		if !known && told != NoField || known && !c.numeric() {
			continue
		}
		d.fields = slices.DeleteFunc(d.fields, func(f *Field) bool {
			if f.col == c || f.Name == told {
				f.col.field = ""
				return true
			}
			return false
		})
		if known {
			c.field, c.other = told, ""
			d.fields = append(d.fields, &Field{Name: told, Column: c.Name, info: info, col: c, Unit: named1(info.Quantity, c.units)})
		}
	}
	d.toldUnits()
}

// toldUnits gives fields the units that they are said to have; again once more of them
// are supposed.
func (d *draft) toldUnits() {
	for _, f := range d.fields {
		if u := d.answers[ToldUnit+f.Name]; u != "" {
			if _, ok := unit.Named(f.info.Quantity, u); ok {
				f.Unit = u
			}
		}
	}
}

// toldTurns turns the fields round that are said to be.
func (d *draft) toldTurns() {
	for _, f := range d.fields {
		if d.answers[ToldTurn+f.Name] == "yes" {
			f.Invert, f.Sure, f.Why = !f.Invert, "sure", "turned round as told"
		}
	}
}

// whyUnit says where a unit that is not in doubt comes from.
func (d *draft) whyUnit(f *Field) string {
	if d.answers[ToldUnit+f.Name] == f.Unit {
		return f.Unit + " as told"
	}
	return "the file says " + f.Unit
}

// Quantity is what the field is a quantity of.
func (f *Field) Quantity() unit.Quantity { return f.info.Quantity }

// Sided says whether the field has a left and a right.
func (f *Field) Sided() bool { return f.info.Mirrors }
