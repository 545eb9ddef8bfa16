package club

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"fairlead/ingest/contract/unit"
)

// Figure says how a number of a club is written by people: what it measures,
// within which bounds it can be, and what it was.
type Figure struct {
	Name     string // of the part: lie, loft, length, …
	Quantity unit.Quantity
	Min, Max float64  // in the stored unit
	Prefer   string   // unit of a bare number, as the field shows it; empty: the stored one
	Was      *float64 // what it is relative to, in the stored unit; nil: not known
}

// inTrade is the unit of the trade's steps: half an inch, a degree, two grams.
var inTrade = map[unit.Quantity]string{unit.Length: "in", unit.Mass: "g", unit.Angle: "deg", unit.Frequency: "cpm", unit.Ratio: ""}

// others are units that a bare number may be meant in, where it makes no sense
// in the field's own.
var others = map[unit.Quantity][]string{unit.Length: {"m", "in", "mm"}, unit.Mass: {"kg", "g", "oz"}, unit.Frequency: {"cpm", "Hz"},
	unit.Moment: {"kgm", "inoz"}}

// ways are words for a direction of change, and its sign, by part. A stronger
// loft is a smaller one.
var ways = map[string]map[string]float64{
	"lie":  {"up": 1, "upright": 1, "flat": -1, "flatter": -1},
	"loft": {"weak": 1, "weaker": 1, "strong": -1, "stronger": -1}, "stated_loft": {"weak": 1, "weaker": 1, "strong": -1, "stronger": -1},
	"face_angle": {"open": 1, "closed": -1, "shut": -1},
	"length":     {"over": 1, "long": 1, "longer": 1, "under": -1, "short": -1, "shorter": -1},
}

// anyWays are good for every part.
var anyWays = map[string]float64{"more": 1, "heavier": 1, "less": -1, "lighter": -1}

var (
	vulgar = strings.NewReplacer("½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8", "−", "-",
		"\u00a0", " ", "″", "in", "”", "in", `"`, "in", "''", "in", "′", "'")
	mixed    = regexp.MustCompile(`^(\d+)(?:\s+|-)(\d+)/(\d+)`)
	fraction = regexp.MustCompile(`^(\d+)/(\d+)`)
	decimal  = regexp.MustCompile(`^\d*[.,]?\d+`)
	named    = map[string]string{"inch": "in", "inches": "in", "ins": "in", "degree": "deg", "degrees": "deg", "gram": "g", "grams": "g",
		"gr": "g", "ounce": "oz",
		"ounces": "oz", "millimetre": "mm", "millimetres": "mm", "millimeters": "mm", "centimetres": "cm", "centimeters": "cm", "point": "points",
		"pts": "points", "pt": "points"}
)

// ParseFigure reads a number of a club as people write it: 37.5in, 37 1/2",
// 37½ in, 95,25 cm, 31°, 65 g, D2, or against what it was: +1/2, -2g, 2 up, 1
// flat, 1/2 over. A bare number is in the field's unit where it can be, else in
// the one other unit in which it can be. The result is in the stored unit; it
// may lie outside of the bounds where its unit was written.
func ParseFigure(text string, f Figure) (float64, error) {
	v, _, err := ReadFigure(text, f)
	return v, err
}

// ReadFigure is ParseFigure, and says whether the text told a change of what
// the figure was.
func ReadFigure(text string, f Figure) (v float64, relative bool, err error) {
	if f.Name == "grip_size" {
		if size, ok := GripSizes[strings.NewReplacer("-", "", " ", "").Replace(strings.ToLower(strings.TrimSpace(text)))]; ok {
			return size, false, nil
		}
	}
	rest := strings.TrimSpace(vulgar.Replace(strings.TrimSpace(text)))
	if f.Quantity == unit.Moment {
		if w, err := ParseSwingWeight(strings.ReplaceAll(strings.ReplaceAll(rest, " 1/2", ".5"), " ", "")); err == nil {
			return w.Moment(), false, nil
		}
	}
	sign := 1.0
	switch {
	case strings.HasPrefix(rest, "+"):
		relative, rest = true, strings.TrimSpace(rest[1:])
	case strings.HasPrefix(rest, "-"):
		sign, rest = -1, strings.TrimSpace(rest[1:])
		// A lie can't be below zero, a face angle and a putter's loft can; the loft
		// of a club that has one does not become negative.
		relative = f.Min >= 0 || f.Name != "face_angle" && f.Was != nil && *f.Was >= 8
	}
	number, broken, rest, err := leading(rest)
	if err != nil {
		return 0, false, fmt.Errorf("%q can't be read: write a number and its unit, such as %s", text, f.example())
	}
	word := strings.TrimSpace(rest)
	if at := strings.LastIndexAny(word, " °"); at >= 0 || f.way(word) != 0 {
		last := strings.TrimSpace(word[max(at, 0):])
		last = strings.TrimPrefix(last, "°")
		if way := f.way(strings.TrimSpace(last)); way != 0 {
			sign, relative = sign*way, true
			word = strings.TrimSpace(strings.TrimSuffix(word, strings.TrimSpace(last)))
		}
	}
	if long, ok := named[strings.ToLower(word)]; ok {
		word = long
	}
	number *= sign
	if relative {
		v, err = f.against(number, word, broken, text)
		return v, true, err
	}
	if word != "" {
		c, err := unit.Lookup(f.Quantity, word)
		if err != nil {
			return 0, false, fmt.Errorf("%q: %w", text, err)
		}
		return c.To(number), false, nil
	}
	v, err = f.bare(number, broken, text)
	return v, false, err
}

// way is the sign of a word for a change; 0: it is none.
func (f Figure) way(word string) float64 {
	if s, ok := ways[f.Name][strings.ToLower(word)]; ok {
		return s
	}
	return anyWays[strings.ToLower(word)]
}

// leading reads the number that a text begins with: 37, 37.5, 37,5, 1/2 or
// 37 1/2, and says whether it was a broken one.
func leading(text string) (number float64, broken bool, rest string, err error) {
	whole := func(s string) float64 { n, _ := strconv.ParseFloat(s, 64); return n }
	if m := mixed.FindStringSubmatch(text); m != nil && whole(m[3]) > 0 {
		return whole(m[1]) + whole(m[2])/whole(m[3]), true, text[len(m[0]):], nil
	}
	if m := fraction.FindStringSubmatch(text); m != nil && whole(m[2]) > 0 {
		return whole(m[1]) / whole(m[2]), true, text[len(m[0]):], nil
	}
	m := decimal.FindString(text)
	if m == "" {
		return 0, false, text, fmt.Errorf("no number")
	}
	number, err = strconv.ParseFloat(strings.ReplaceAll(m, ",", "."), 64)
	return number, false, text[len(m):], err
}

// bare finds what a number without a unit means.
func (f Figure) bare(number float64, broken bool, text string) (float64, error) {
	fits := func(name string) (float64, bool) {
		c, err := unit.Lookup(f.Quantity, name)
		if err != nil {
			return 0, false
		}
		v := c.To(number)
		return v, v >= f.Min && v <= f.Max
	}
	first := []string{f.Prefer, ""}
	if broken && f.Quantity == unit.Length {
		first = []string{"in"} // nobody writes halves of a millimetre
	}
	for _, name := range first {
		if v, ok := fits(name); ok {
			return v, nil
		}
	}
	var found []string
	var value float64
	for _, name := range others[f.Quantity] {
		if v, ok := fits(name); ok {
			found, value = append(found, name), v
		}
	}
	switch len(found) {
	case 0:
		c, err := unit.Lookup(f.Quantity, f.Prefer)
		return c.To(number), err // the bounds are told by whoever checks them
	case 1:
		return value, nil
	}
	return 0, fmt.Errorf("%q may be meant in %s: write the unit", text, strings.Join(found, " or "))
}

// against adds a change to what the figure was.
func (f Figure) against(change float64, word string, broken bool, text string) (float64, error) {
	if f.Was == nil {
		return 0, fmt.Errorf("%q is a change of what is not known: write the whole figure, such as %s", text, f.whole())
	}
	if f.Quantity == unit.Moment && (word == "" || word == "points") {
		return (SwingWeightOf(*f.Was) + SwingWeight(change)).Moment(), nil
	}
	if word == "" {
		if word = inTrade[f.Quantity]; f.Prefer != "" && !broken {
			word = f.Prefer
		}
	}
	c, err := unit.Lookup(f.Quantity, word)
	if err != nil {
		return 0, fmt.Errorf("%q: %w", text, err)
	}
	return math.Round((*f.Was+c.To(change)-c.To(0))*1e9) / 1e9, nil
}

// whole is an example of a figure that is no change.
func (f Figure) whole() string {
	text, _, _ := strings.Cut(f.example(), " or ")
	return text
}

func (f Figure) example() string {
	switch f.Quantity {
	case unit.Length:
		return `37.5in, 37 1/2", 952mm or +1/2`
	case unit.Mass:
		return "65g or +2g"
	case unit.Angle:
		if f.Name == "lie" {
			return "62.5° or 2 up"
		}
		return "31° or +1"
	case unit.Moment:
		return "D2 or +1"
	case unit.Frequency:
		return "255cpm"
	}
	return "2"
}
