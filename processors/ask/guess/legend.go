package guess

import (
	"regexp"
	"strings"

	"fairlead/ingest/contract/unit"
)

var (
	speaksOfUnits = regexp.MustCompile(`(?i)unit|einheit|unité|unidad|unità|enhet|eenhe|単位|단위|单位|speed|velocit|geschw|vitesse|distan|length|angle`)
	between       = regexp.MustCompile(`[\s:=;,()\[\]"|]+`)
)

// legendOf reads the units that a file states once, above its rows: "Units:
// mph, yards". A quantity with two of them is left open.
func legendOf(preamble []string) map[unit.Quantity]string {
	out, twice := map[unit.Quantity]string{}, map[unit.Quantity]bool{}
	for _, line := range preamble {
		if !speaksOfUnits.MatchString(line) || len(line) > 200 {
			continue
		}
		before := ""
		for _, word := range between.Split(line, -1) {
			height := speaksOfHeight.MatchString(before)
			before = word
			if len(word) < 2 && word != "m" && word != "°" {
				continue
			}
			for _, q := range []unit.Quantity{unit.Speed, unit.Length, unit.Angle, unit.Rotation} {
				short, ok := unit.Named(q, word)
				if !ok || short == "" {
					continue
				}
				if q == unit.Length && height {
					q = heights
				}
				twice[q] = twice[q] || out[q] != "" && out[q] != short
				out[q] = short
			}
		}
	}
	for q := range twice {
		if twice[q] {
			delete(out, q)
		}
	}
	for _, line := range preamble {
		if !speaksOfUnits.MatchString(line) && !system.MatchString(line) || len(line) > 200 {
			continue
		}
		// A system names units where nothing nearer does. Of metric speeds there are two.
		imperial, metric := imperialWord.MatchString(line), metricWord.MatchString(line)
		for q, u := range map[unit.Quantity][2]string{unit.Speed: {"mph", ""}, unit.Length: {"yd", "m"}} {
			if out[q] != "" || twice[q] || imperial == metric {
				continue
			}
			if u := u[map[bool]int{true: 1}[metric]]; u != "" {
				out[q] = u
			}
		}
	}
	return out
}

var (
	system       = regexp.MustCompile(`(?i)system|einheiten`)
	imperialWord = regexp.MustCompile(`(?i)\b(imperial|us customary|imperiales?|impérial)\b`)
	metricWord   = regexp.MustCompile(`(?i)\b(metric|metrisch|métrique|métrico|metrico|si)\b`)
)

// heights are lengths of which a legend may speak apart.
const heights unit.Quantity = "height"

var speaksOfHeight = regexp.MustCompile(`(?i)^(height|apex|h[oö]he|hauteur|altura|altezza)s?$`)

// legendBy reads lines above the rows that give a unit to each column by its
// name: "Carry: yd", "Spin rate = rpm", "Apex in ft".
func legendBy(preamble []string, cols []*column) map[*column]string {
	out := map[*column]string{}
	for _, line := range preamble {
		line = strings.TrimSpace(strings.TrimLeft(line, "#/;%'* \t\""))
		for _, c := range cols {
			rest, ok := strings.CutPrefix(strings.ToLower(line), strings.ToLower(strings.TrimSpace(c.Name)))
			if !ok || c.Name == "" {
				continue
			}
			rest = strings.Trim(rest, " \t:=,;()[]\"-")
			rest = strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(rest, "in "), "unit "), "is ")
			if isUnit(rest) {
				out[c] = rest
			}
		}
	}
	return out
}

// stated is the unit that the legend gives a field. A height has often one of
// its own beside yards.
func (d *draft) stated(f *Field) string {
	if u := d.legend[heights]; u != "" && f.Name == "apex" {
		return u
	}
	u := d.legend[f.info.Quantity]
	if u == "" || f.info.Quantity == unit.Length && (f.Name == "apex" && strings.HasPrefix(u, "y") || strings.HasPrefix(f.Name, "strike") ||
		f.Name == "low_point") {
		return ""
	}
	return u
}
