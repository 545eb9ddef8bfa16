package unit

import (
	"slices"
	"strings"
)

// words are spellings of units as devices and people write them out, beside the
// short names that maps list.
var words = map[Quantity]map[string]string{
	Speed: {"miles per hour": "mph", "miles/h": "mph", "mi/h": "mph", "metres per second": "m/s", "meters per second": "m/s", "m s-1": "m/s",
		"kilometres per hour": "km/h", "kilometers per hour": "km/h", "km/hr": "km/h", "knots": "kn", "kts": "kn", "kt": "kn", "knot": "kn",
		"feet per second": "ft/s", "ft/sec": "ft/s", "ms": "m/s", "fts": "ft/s", "m/sec": "m/s"},
	Length: {"metres": "m", "meters": "m", "metre": "m", "meter": "m", "mtr": "m", "yards": "yd", "yard": "yd", "yrd": "yd", "feet": "ft",
		"foot": "ft", "'": "ft", "′": "ft", "″": "in", "inches": "in", "inch": "in", "centimetres": "cm", "centimeters": "cm",
		"millimetres": "mm", "millimeters": "mm"},
	Angle: {"degrees": "deg", "degree": "deg", "º": "deg", "grad": "deg", "radians": "rad", "radian": "rad"},
	Rotation: {"rev/min": "rpm", "r/min": "rpm", "1/min": "rpm", "u/min": "rpm", "rev/s": "rps", "r/s": "rps", "°/s": "deg/s",
		"dps": "deg/s", "rads": "rad/s", "degs": "deg/s", "hz": "rps"},
	Time:        {"sec": "s", "secs": "s", "seconds": "s", "second": "s", "msec": "ms", "milliseconds": "ms"},
	Ratio:       {"percent": "%", "pct": "%", "ratio": "1", "x": "1"},
	Temperature: {"celsius": "degC", "fahrenheit": "degF", "kelvin": "K", "deg c": "degC", "deg f": "degF"},
	Pressure:    {"pascal": "Pa", "millibar": "mbar"},
}

// spelled turns a spelling into the short name; the name itself where it is none.
func spelled(q Quantity, name string) string {
	if short, ok := words[q][strings.ToLower(strings.TrimSpace(strings.TrimSuffix(name, ".")))]; ok {
		return short
	}
	return name
}

// Named returns the short name of a unit of q, however it is spelled; ok is
// false for what is no unit of q.
func Named(q Quantity, name string) (short string, ok bool) {
	name = spelled(q, name)
	for have := range units[q] {
		if have == name {
			return have, true
		}
	}
	best := ""
	for have := range units[q] {
		if strings.EqualFold(have, name) && (best == "" || have < best) {
			best = have
		}
	}
	return best, best != ""
}

// Spellings lists how the units of q may be written out, sorted.
func Spellings(q Quantity) []string {
	var out []string
	for word := range words[q] {
		out = append(out, word)
	}
	slices.Sort(out)
	return out
}
