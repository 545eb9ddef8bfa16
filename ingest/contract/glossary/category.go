package glossary

import (
	"fmt"
	"slices"
	"strings"
)

// Category is the kind of club, which decides what is judged and how. It is
// stored by its name.
type Category string

// The categories of a bag.
const (
	Driver Category = "driver"
	Wood   Category = "wood"
	Hybrid Category = "hybrid"
	Iron   Category = "iron"
	Wedge  Category = "wedge"
	Putter Category = "putter"
)

// Categories lists them from the longest club to the putter.
func Categories() []Category { return []Category{Driver, Wood, Hybrid, Iron, Wedge, Putter} }

// CategoryNames are the names of Categories, as they are stored and typed.
func CategoryNames() []string { return names(Categories()) }

// Airborne lists the categories whose balls fly, which are those that the fleet
// is asked about.
func Airborne() []Category {
	return slices.DeleteFunc(Categories(), func(c Category) bool { return c == Putter })
}

// AirborneNames are the names of Airborne.
func AirborneNames() []string { return names(Airborne()) }

func names(list []Category) []string {
	out := make([]string, len(list))
	for i, c := range list {
		out[i] = string(c)
	}
	return out
}

// Known says whether it is one of Categories.
func (c Category) Known() bool { return slices.Contains(Categories(), c) }

// Long says that distance is what the club is for: a driver or a wood.
func (c Category) Long() bool { return c == Driver || c == Wood }

// ParseCategory reads a category's name, whatever its case.
func ParseCategory(s string) (Category, error) {
	if c := Category(strings.ToLower(strings.TrimSpace(s))); c.Known() {
		return c, nil
	}
	return "", fmt.Errorf("category %q is not known; use one of %s", s, strings.Join(CategoryNames(), ", "))
}

// Primary lists the outcomes that the category is judged by, declared before
// the first shot, the most important first: where a driver's or wood's shots go
// and how far, how well an iron's or wedge's carry is controlled (a wedge's at
// each swing length). Area is secondary everywhere; a long thin scatter has
// little of it.
func (c Category) Primary() []Outcome {
	var out []Outcome
	for _, rank := range []func(*Outcome) []Category{
		func(o *Outcome) []Category { return o.First },
		func(o *Outcome) []Category { return o.Second },
	} {
		for i := range table {
			if slices.Contains(rank(&table[i]), c) {
				out = append(out, table[i])
			}
		}
	}
	return out
}

// Judged names what a trial of the category is judged by, with units.
func (c Category) Judged() []string {
	var out []string
	for _, o := range c.Primary() {
		out = append(out, o.Measured(c))
	}
	return out
}
