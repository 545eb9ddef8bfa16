package feed

import (
	_ "embed"
	"fmt"
	"maps"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

//go:embed recipes.txt
var recipesText string

// Recipe is a small field map for one habit of devices, with lines of a file
// and what it makes of them.
type Recipe struct{ Title, Map string }

// Recipes lists them, from the simplest on.
func Recipes() (out []Recipe) {
	for _, part := range strings.Split(recipesText, "-- ")[1:] {
		if title, text, ok := strings.Cut(part, " --\n"); ok {
			out = append(out, Recipe{title, text})
		}
	}
	return out
}

// Reference is the page on field maps, in Markdown: every key, field, unit and
// recipe, from the tables that maps are read with.
func Reference() string {
	var b strings.Builder
	b.WriteString("# Field maps\n\nMade by `fairlead feed reference` from the tables that maps are read with. A map says what the columns " +
		"of one device mean;\n" +
		"`fairlead feed guess` drafts one, `fairlead feed try` shows what it makes of files, `fairlead feed schema` tells editors what may\n" +
		"stand where. Column names are compared without regard to case and outer spaces; in NDJSON they are keys, and `ball.speed` is\n" +
		"the key speed within the key ball. A cell may carry its unit, which then counts.\n")
	names := slices.Sorted(maps.Keys(grammar))
	for _, name := range names {
		title := name
		if name == "" {
			title = "A map"
		}
		fmt.Fprintf(&b, "\n## %s\n\n| key | what it says |\n| --- | --- |\n", title)
		for _, w := range grammar[name] {
			says := w.says
			if w.one != nil {
				says += "; one of " + strings.Join(w.one, " ")
			}
			if _, is := grammar[w.kind]; is && w.kind != w.key {
				says += "; see " + w.kind
			}
			fmt.Fprintf(&b, "| `%s` | %s |\n", w.key, strings.ReplaceAll(says, "|", "\\|"))
		}
	}
	b.WriteString("\n## Fields\n\n| field | quantity | stored in | from | to | positive |\n| --- | --- | --- | --- | --- | --- |\n")
	seen := map[unit.Quantity]bool{}
	var order []unit.Quantity
	for _, f := range event.Fields() {
		side := ""
		if f.Mirrors {
			side = "right of target"
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %g | %g | %s |\n", f.Name, f.Quantity, unit.Stored(f.Quantity), f.Min, f.Max, side)
		if !seen[f.Quantity] {
			seen[f.Quantity], order = true, append(order, f.Quantity)
		}
	}
	b.WriteString("\n## Units\n\n| quantity | names | spellings |\n| --- | --- | --- |\n")
	for _, q := range order {
		fmt.Fprintf(&b, "| %s | %s | %s |\n", q, strings.Join(unit.Names(q), " "), strings.Join(unit.Spellings(q), ", "))
	}
	b.WriteString("\n## Recipes\n\nEach is a whole map; what stands below `expect` is read with it whenever it is.\n")
	for _, r := range Recipes() {
		fmt.Fprintf(&b, "\n### %s\n\n```yaml\n%s```\n", r.Title, r.Map)
	}
	return b.String()
}
