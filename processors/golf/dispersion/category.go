package dispersion

import (
	"fmt"
	"strings"
)

// Category is the kind of club a trial is hit with. It decides what a trial
// is judged by, and that is declared before the first shot.
type Category string

// The categories. The same words are used wherever a category is stored.
const (
	Driver Category = "driver"
	Wood   Category = "wood"
	Hybrid Category = "hybrid"
	Iron   Category = "iron"
	Wedge  Category = "wedge"
	Putter Category = "putter"
)

// Categories lists every category, longest club first.
func Categories() []Category { return []Category{Driver, Wood, Hybrid, Iron, Wedge, Putter} }

// ParseCategory reads a category's name, whatever its case.
func ParseCategory(s string) (Category, error) {
	for _, c := range Categories() {
		if strings.EqualFold(strings.TrimSpace(s), string(c)) {
			return c, nil
		}
	}
	return "", fmt.Errorf("category %q is not known; use one of driver, wood, hybrid, iron, wedge, putter", s)
}

// Primary names the outcomes a category is judged by, the most important
// first; area is always secondary, because a long thin scatter has little of it.
func (c Category) Primary() []string {
	switch c {
	case Driver, Wood:
		return []string{"direction_sd_deg", "carry_m"}
	case Hybrid, Iron:
		return []string{"carry_sd_pct", "direction_sd_deg"}
	case Wedge:
		return []string{"carry_sd_pct"} // at each swing length
	case Putter:
		return []string{"start_sd_deg", "speed_sd_pct"}
	}
	return nil
}
