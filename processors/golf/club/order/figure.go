package order

import (
	"slices"

	"fairlead/ingest/contract/glossary"
)

// Part names a figure of a club as a build does.
type Part string

// The figures that an order carries through a set.
const (
	Length      Part = "length"
	Loft        Part = "loft"
	Lie         Part = "lie"
	SwingWeight Part = "swing_weight"
	Total       Part = "total_weight"
	Head        Part = "head_weight"
	Shaft       Part = "shaft_weight"
	Grip        Part = "grip_weight"
	TipTrim     Part = "tip_trim"
	ButtTrim    Part = "butt_trim"
)

// Parts lists them in the order of a row.
func Parts() []Part {
	return []Part{Length, Loft, Lie, SwingWeight, Head, Shaft, Grip, Total, TipTrim, ButtTrim}
}

// PartsOf are those that the clubs of an order are made by, in the same order: a
// putter has no tip to trim, and a swing weight only where somebody asks for one.
func PartsOf(rows []Row) []Part {
	return slices.DeleteFunc(Parts(), func(p Part) bool {
		return (p == SwingWeight || p == TipTrim) && len(rows) > 0 && !slices.ContainsFunc(rows, func(r Row) bool {
			_, known := r.Figures[p]
			return known || r.Category != glossary.Putter
		})
	})
}

// Origin is where a figure comes from.
type Origin string

// Where a figure may come from.
const (
	Fixed    Origin = "fixed"     // a person said so for this club
	Measured Origin = "test club" // measured on the club that was hit
	Stated   Origin = "stated"    // stated of the club that was hit
	Derived  Origin = "derived"   // by a rule
)

// Figure is one figure of a row.
type Figure struct {
	Number float64 // in the stored unit
	Origin Origin
	Why    string // the rule of a derived one
	// Unsure is by how much the finished club may read otherwise although each
	// part is right, ± in the unit of the tolerance: points for a swing weight,
	// the stored unit otherwise. 0: it is a demand and no forecast.
	Unsure float64
}

// Known is a figure of the club that was hit.
type Known struct {
	Number   float64
	Measured bool
}

// Row is one club of an order.
type Row struct {
	Name     string
	Category glossary.Category
	Figures  map[Part]Figure // what is absent is not known
	// Rest is what the club weighs beside head, shaft and grip (ferrule, epoxy,
	// tape, plugs), kg: that of the test club. Total is the sum of all four.
	Rest float64
	// Anchor: it is the club that was hit.
	Anchor bool
}

// Number gives a figure; ok is false where it is not known.
func (r Row) Number(p Part) (v float64, ok bool) {
	f, ok := r.Figures[p]
	return f.Number, ok
}
