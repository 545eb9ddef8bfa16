package club

import (
	"fairlead/ingest/contract/glossary"
	"fmt"
	"regexp"
	"strings"
)

// ParseCategory reads a category's name; the error is an *InputError.
func ParseCategory(text string) (glossary.Category, error) {
	c, err := glossary.ParseCategory(text)
	if err != nil {
		return "", &InputError{Field: "category", Value: fmt.Sprintf("%q", text), Reason: "is not a kind of club",
			Try: "use driver, wood, hybrid, iron, wedge or putter"}
	}
	return c, nil
}

var shortNames = []struct {
	pattern  *regexp.Regexp
	category glossary.Category
}{
	{regexp.MustCompile(`^(driver|dr|1w|1-?wood)$`), glossary.Driver},
	{regexp.MustCompile(`^(\d+)\s*-?\s*(w|wood)$`), glossary.Wood},
	{regexp.MustCompile(`^(\d+)\s*-?\s*(h|hy|hybrid)$`), glossary.Hybrid},
	{regexp.MustCompile(`^(\d+)\s*-?\s*(i|iron)$`), glossary.Iron},
	{regexp.MustCompile(`^([pgaslu]w|(pitching|gap|approach|sand|lob) wedge|\d+(\.\d+)?\s*(°|deg)?\s*(wedge)?)$`), glossary.Wedge},
	{regexp.MustCompile(`^(putter|pt)$`), glossary.Putter},
}

// CategoryOf recognises a club by how the trade names it: driver, 3w, 5-wood,
// 4h, 7i, 6 iron, PW, SW, 56 (a wedge by its loft), putter. It returns false
// for a name it does not know; then the category has to be said.
func CategoryOf(name string) (glossary.Category, bool) {
	n := strings.ToLower(strings.TrimSpace(name))
	for _, s := range shortNames {
		if s.pattern.MatchString(n) {
			return s.category, true
		}
	}
	return "", false
}
