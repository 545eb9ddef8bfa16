package guess

import (
	"regexp"
	"strconv"
	"strings"
)

// Counters of firmware say a unit and how much of it one is: 0.1 mph, 1/10 deg,
// x100 rpm, cdeg.

var (
	partOfUnit = regexp.MustCompile(`^(?:in\s+)?(?:1\s*/\s*(10{1,4})|(0[.,]0{0,3}1)|[x*×]?\s*(10{1,4}))\s*[x*×]?\s*([^\d\s].*)$`)
	unitTimes  = regexp.MustCompile(`^([^\d\s].*?)\s*[x*×/]\s*(10{1,4})$`)
)

// tiniest are units that are written with a part of one in front; what the map
// then calls it, and how many make one.
var tiniest = map[string]struct {
	unit string
	of   float64
}{"cdeg": {"deg", 100}, "ddeg": {"deg", 10}, "mdeg": {"deg", 1000}, "cms": {"m/s", 100}, "cm/s": {"m/s", 100}, "cmps": {"m/s", 100},
	"mms": {"m/s", 1000}, "mm/s": {"m/s", 1000}, "mmps": {"m/s", 1000}, "dm": {"m", 10}, "dmph": {"mph", 10}, "drpm": {"rpm", 10}}

// factorOf reads a unit with a factor: the unit, and how many of the device's make
// one of it (less than one where it counts hundreds).
func factorOf(text string) (unit string, of float64, ok bool) {
	text = strings.TrimSpace(text)
	if t, ok := tiniest[strings.ToLower(text)]; ok {
		return t.unit, t.of, true
	}
	if m := partOfUnit.FindStringSubmatch(text); m != nil && isUnit(m[4]) {
		if m[3] != "" {
			n, err := strconv.ParseFloat(m[3], 64)
			return m[4], 1 / n, err == nil
		}
		n, err := strconv.ParseFloat(m[1], 64)
		if m[2] != "" {
			n, err = strconv.ParseFloat(strings.Replace(m[2], ",", ".", 1), 64)
			n = 1 / n
		}
		return m[4], n, err == nil
	}
	if m := unitTimes.FindStringSubmatch(text); m != nil && isUnit(m[1]) && !strings.Contains(text, "/") {
		n, err := strconv.ParseFloat(m[2], 64)
		return m[1], n, err == nil
	}
	return "", 0, false
}

// factored takes a unit with a factor off a name: in brackets, or as its last word.
func factored(name string) (bare, unit string, of float64) {
	for _, m := range bracket.FindAllStringSubmatch(name, -1) {
		if u, of, ok := factorOf(m[1]); ok {
			return strings.TrimSpace(strings.Replace(name, m[0], " ", 1)), u, of
		}
	}
	if i := strings.LastIndexAny(name, "_ "); i > 0 {
		if t, ok := tiniest[strings.ToLower(name[i+1:])]; ok {
			return name[:i], t.unit, t.of
		}
	}
	return name, "", 0
}
