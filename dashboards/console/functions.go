package console

import (
	"html/template"
	"regexp"
	"slices"
	"strings"
	"time"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// functions are what templates may call.
func (s *server) functions() template.FuncMap {
	return template.FuncMap{
		"name":      s.people.Name,
		"papers":    s.paperLinks,
		"places":    s.places,
		"word":      func(text string) string { return strings.ReplaceAll(text, "_", " ") },
		"faultWord": faultWord,
		"hint":      plainHint,
		"upper":     upperFirst,
		"lower":     strings.ToLower,
		"list":      func(words ...string) []string { return words },
		"dict": func(pairs ...any) map[string]any {
			m := map[string]any{}
			for i := 0; i+1 < len(pairs); i += 2 {
				m[pairs[i].(string)] = pairs[i+1]
			}
			return m
		},
		"clock":  s.clock,
		"liking": draw.Liking,
		"such":   s.units.such,
		"pct":    func(p float64) float64 { return 100 * p },
	}
}

// faultWord names for people the field that a fault names; nothing where that is
// a whole event.
func faultWord(field string) string {
	if slices.ContainsFunc(visit.Kinds(), func(k *visit.Kind) bool { return k.Name == field }) {
		return ""
	}
	field = strings.TrimPrefix(field, "build.")
	for _, ending := range []string{"_m", "_deg", "_mps", "_kg"} {
		field = strings.TrimSuffix(field, ending)
	}
	if info, ok := event.BuildFieldNamed(field); ok {
		return strings.ToLower(info.Label)
	}
	return strings.NewReplacer("_", " ", ".", " ").Replace(field)
}

// forTerminals are the words of a hint that help on the command line only.
var forTerminals = regexp.MustCompile("\\s*\\(--[^)]*\\)|[;:,]?\\s*`fairlead [^`]*` \\w+ them")

func plainHint(hint string) string { return forTerminals.ReplaceAllString(hint, "") }

// clock is a moment of today by its time, of another day with the date.
func (s *server) clock(ns int64) string {
	at, now := time.Unix(0, ns), s.now()
	switch {
	case at.Year() == now.Year() && at.YearDay() == now.YearDay():
		return at.Format("15:04:05")
	case at.Year() == now.Year():
		return at.Format("2 Jan 15:04")
	}
	return at.Format("2 Jan 2006 15:04")
}

func upperFirst(text string) string {
	if text == "" {
		return text
	}
	return strings.ToUpper(text[:1]) + text[1:]
}
