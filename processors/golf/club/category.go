package club

import (
	"fmt"
	"regexp"
	"strings"
)

// Category is the kind of club, which decides what is judged and how.
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

// ParseCategory reads one of the category names.
func ParseCategory(text string) (Category, error) {
	for _, c := range Categories() {
		if strings.EqualFold(strings.TrimSpace(text), string(c)) {
			return c, nil
		}
	}
	return "", &InputError{Field: "category", Value: fmt.Sprintf("%q", text), Reason: "is not a kind of club",
		Try: "use driver, wood, hybrid, iron, wedge or putter"}
}

var shortNames = []struct {
	pattern  *regexp.Regexp
	category Category
}{
	{regexp.MustCompile(`^(driver|dr|1w|1-?wood)$`), Driver},
	{regexp.MustCompile(`^(\d+)\s*-?\s*(w|wood)$`), Wood},
	{regexp.MustCompile(`^(\d+)\s*-?\s*(h|hy|hybrid)$`), Hybrid},
	{regexp.MustCompile(`^(\d+)\s*-?\s*(i|iron)$`), Iron},
	{regexp.MustCompile(`^([pgaslu]w|(pitching|gap|approach|sand|lob) wedge|\d+(\.\d+)?\s*(°|deg)?\s*(wedge)?)$`), Wedge},
	{regexp.MustCompile(`^(putter|pt)$`), Putter},
}

// CategoryOf recognises a club by how the trade names it: driver, 3w, 5-wood,
// 4h, 7i, 6 iron, PW, SW, 56 (a wedge by its loft), putter. It returns false
// for a name it does not know; then the category has to be said.
func CategoryOf(name string) (Category, bool) {
	n := strings.ToLower(strings.TrimSpace(name))
	for _, s := range shortNames {
		if s.pattern.MatchString(n) {
			return s.category, true
		}
	}
	return "", false
}
