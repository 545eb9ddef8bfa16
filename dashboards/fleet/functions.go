package fleet

import (
	"fmt"
	"html/template"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"

	"fairlead/dashboards/draw"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

var functions = template.FuncMap{
	"plain":   plain,
	"article": article,
	"drawing": func() template.CSS { return draw.Style },
	"outcome": answers.OutcomeTitle,
	"trait":   answers.TraitTitle,
	"count":   count,
	"day":     func(t time.Time) string { return t.UTC().Format("2 Jan 2006") },
	"when":    func(t time.Time) string { return t.UTC().Format("2 Jan 2006, 15:04 UTC") },
	"clock":   func(t time.Time) string { return t.UTC().Format("15:04 UTC") },
	"num":     num,
	"named":   named,
	"percent": func(x *float64) string { return fmt.Sprintf("%.0f %%", 100**x) },
	"share":   share,
	"p":       odds,
	"list":    func(x ...string) []string { return x },
	"has": func(list []string, s string) bool {
		return strings.Contains(","+strings.Join(list, ",")+",", ","+s+",")
	},
	"at":      func(x *float64) float64 { return *x },
	"stepOf":  func(name string) string { a, _ := fleet.ParseAttribute(name); return a.StepText() },
	"pair":    func(v fleet.Verdict, name string) column { return column{v, name} },
	"closeOn": func(v fleet.Verdict, column string) bool { return slices.Contains(v.Close, column) },
	"title":   func(name string) string { return strings.ReplaceAll(name, "_", " ") },
	"mark":    mark,
	"pct":     func(x float64) float64 { return 100 * x },
	"change":  func(outcome string, x float64) string { return change(outcome, x) },
}

// ofModel are terms as a model names them: shaft_weight, shaft_weight:path_deg.
var ofModel = regexp.MustCompile(`\b[a-z]+(?:_[a-z]+)+(?::[a-z_]+)?\b`)

// plain says the terms of a text in words: a note is the model's own, and is read
// by people here.
func plain(text string) string {
	return ofModel.ReplaceAllStringFunc(text, func(term string) string {
		attribute, trait, with := strings.Cut(term, ":")
		say := func(name string) string { return strings.ReplaceAll(answers.TraitTitle(name), "_", " ") }
		if with {
			return say(attribute) + " with " + say(trait)
		}
		return say(term)
	})
}

// article puts one before a person: a director, but operations.
func article(who string) string {
	switch who {
	case "operations":
		return who
	}
	return "a " + who
}

// count writes a whole number with thin spaces.
func count(n any) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + " " + s[i:]
	}
	return s
}

// named puts builds' names in the place of their keys.
func named(text string, builds []answers.Build) string {
	for _, b := range builds {
		if b.Name != "" {
			text = strings.ReplaceAll(text, b.Key, "“"+b.Name+"”")
		}
	}
	return text
}

// odds writes a p as people read it.
func odds(p float64) string {
	if p < 0.001 {
		return "below 0.001"
	}
	return fmt.Sprintf("%.2g", p)
}

// num writes a number or a dash.
func num(x *float64) string {
	if x == nil || math.IsNaN(*x) {
		return "–"
	}
	return fmt.Sprintf("%.4g", *x)
}

// mark is a verdict's sign.
func mark(v fleet.Verdict) string {
	switch v.Kind() {
	case fleet.WayBetter:
		return "▲"
	case fleet.WayWorse:
		return "▼"
	case "same":
		return "="
	}
	return ""
}

// change writes a change of an outcome as people read it.
func change(outcome string, x float64) string {
	o, ok := fleet.FindOutcome(outcome)
	switch {
	case !ok:
		return fmt.Sprintf("%+.3g", x)
	case o.Log:
		return fmt.Sprintf("%+.1f %%", math.Round(10*o.Percent(x))/10+0) // never −0
	}
	return fmt.Sprintf("%+.2f %s", x, o.Unit)
}

// column is one column of a verdict.
type column struct {
	V      fleet.Verdict
	Column string
}
