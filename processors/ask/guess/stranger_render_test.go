package guess

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// grid is what a stranger writes, before it has a shape.
type grid struct {
	s     *stranger
	cols  []trueColumn
	heads []string
	own   int // columns before the measures
	rows  [][]string
	day   time.Time
}

func (g *grid) unitOf(head string) string {
	for _, c := range g.cols {
		if c.head == head {
			return g.s.spell[c.unit]
		}
	}
	return ""
}

// headed are the names with their units, where names have them.
func (g *grid) headed() (out []string) {
	for _, h := range g.heads {
		u := g.unitOf(h)
		switch {
		case u == "":
		case g.s.unitAt == "bracket":
			h += " [" + u + "]"
		case g.s.unitAt == "round":
			h += " (" + u + ")"
		case g.s.unitAt == "comma":
			h += ", " + u
		case g.s.unitAt == "suffix":
			h += "_" + map[string]string{"mph": "mph", "km/h": "kmh", "m/s": "mps", "yd": "yds", "m": "m", "ft": "ft", "deg": "deg",
				"rpm": "rpm", "s": "s", "ms": "ms"}[g.plainUnit(h)]
		}
		out = append(out, h)
	}
	return out
}

func (g *grid) plainUnit(head string) string {
	for _, c := range g.cols {
		if c.head == head {
			return c.unit
		}
	}
	return ""
}

func (g *grid) write(i int) []specimenFile {
	s := g.s
	name := fmt.Sprintf("run-%d", i)
	if s.clock == "filedate" {
		name = g.day.Format("2006-01-02") + "_" + name
	}
	file := func(ext, text string) []specimenFile {
		return []specimenFile{{name + "." + ext, strings.ReplaceAll(text, "\n", s.eol)}}
	}
	heads := g.headed()
	switch s.shape {
	case "ndjson", "treed":
		var b strings.Builder
		for _, row := range g.rows {
			b.WriteString(object(heads, row, g.own, s.shape == "treed", "") + "\n")
		}
		return file("jsonl", b.String())
	case "pretty":
		var items []string
		for _, row := range g.rows {
			items = append(items, object(heads, row, g.own, s.tongue == "tree", "  "))
		}
		return file("json", "{\n  \"app\": {\"version\": \"4.1\", \"build\": 9},\n  \"strokes\": [\n"+strings.Join(items, ",\n")+"\n]}\n")
	case "eachfile":
		var out []specimenFile
		for k, row := range g.rows {
			out = append(out, specimenFile{fmt.Sprintf("%s_%02d.json", name, k), object(heads, row, g.own, s.tongue == "tree", "  ")})
		}
		return out
	case "attributes", "elements", "valued":
		return file("xml", g.xml())
	case "pairs", "blocks":
		var b strings.Builder
		for _, row := range g.rows {
			for k := range row {
				if s.shape == "blocks" {
					fmt.Fprintf(&b, "%-28s: %s\n", heads[k], row[k])
				} else {
					fmt.Fprintf(&b, "%s=%s|", strings.ReplaceAll(heads[k], " ", "_"), row[k])
				}
			}
			b.WriteString("\n")
		}
		return file("txt", b.String())
	case "long":
		var b strings.Builder
		b.WriteString(strings.Join(g.heads[:g.own], ",") + ",Parameter,Value")
		if s.unitAt == "column" {
			b.WriteString(",Unit")
		}
		b.WriteString("\n")
		for _, row := range g.rows {
			for k := g.own; k < len(row); k++ {
				b.WriteString(strings.Join(row[:g.own], ",") + "," + g.heads[k] + "," + row[k])
				if s.unitAt == "column" {
					b.WriteString("," + g.unitOf(g.heads[k]))
				}
				b.WriteString("\n")
			}
		}
		return file("csv", b.String())
	case "transposed":
		var b strings.Builder
		for k, h := range g.heads {
			b.WriteString(h)
			if s.unitAt == "column" {
				b.WriteString("," + g.unitOf(h))
			}
			for _, row := range g.rows {
				b.WriteString("," + row[k])
			}
			b.WriteString("\n")
		}
		return file("csv", b.String())
	}
	return file("csv", g.table(heads))
}

func (g *grid) table(heads []string) string {
	s := g.s
	var b strings.Builder
	sep := map[string]string{"comma": ",", "semicolon": ";", "tab": "\t", "pipe": " | ", "quoted": ",", "grouped": ","}[s.shape]
	if s.preface {
		b.WriteString("Bay Report v2\nOperator:" + sep + "Desk\n")
	}
	if s.unitAt == "stated" {
		for q, u := range s.land {
			if q == "speed" || q == "length" {
				fmt.Fprintf(&b, "Units %s: %s\n", q, s.spell[u])
			}
		}
	}
	if s.side == "stated" {
		b.WriteString("Sign convention: + right / - left\n")
	}
	wide := make([]int, len(heads))
	for k, h := range heads {
		wide[k] = max(11, len([]rune(h))+2)
		for _, row := range g.rows {
			wide[k] = max(wide[k], len([]rune(row[k]))+2)
		}
	}
	line := func(cells []string) {
		for k, c := range cells {
			switch {
			case s.shape == "aligned":
				b.WriteString(strings.Repeat(" ", max(1, wide[k]-len([]rune(c)))) + c)
				continue
			case s.shape == "quoted":
				c = strconv.Quote(c)
			case strings.Contains(c, strings.TrimSpace(sep)) && s.shape != "tab":
				c = `"` + c + `"`
			}
			if k > 0 {
				b.WriteString(sep)
			}
			b.WriteString(c)
		}
		b.WriteString("\n")
	}
	line(heads)
	if s.shape == "aligned" {
		rule := make([]string, len(heads))
		for k := range rule {
			rule[k] = strings.Repeat("-", wide[k]-2)
		}
		line(rule)
	}
	if s.unitAt == "row" {
		units := make([]string, len(heads))
		for k := range g.heads {
			units[k] = g.unitOf(g.heads[k])
		}
		line(units)
	}
	for k, row := range g.rows {
		if k > 0 && k == len(g.rows)/2 {
			switch {
			case s.shape == "grouped":
				b.WriteString("\nClub: 5 Wood\n")
				line(heads)
			case s.again:
				line(heads)
			}
		}
		line(row)
	}
	if s.averages {
		for _, word := range []string{"Average", "Std. Dev."} {
			mean := append([]string{}, g.rows[0]...)
			mean[0] = word
			line(mean)
		}
	}
	return b.String()
}

// object writes a shot as JSON: numbers as such where they are.
func object(heads, row []string, own int, tree bool, indent string) string {
	value := func(k int) string {
		if _, err := strconv.ParseFloat(row[k], 64); err == nil && k >= own && !strings.HasPrefix(row[k], "+") && row[k] != "NaN" {
			return row[k]
		}
		if row[k] == "null" || row[k] == "" {
			return "null"
		}
		return strconv.Quote(row[k])
	}
	root := map[string]any{}
	for k, h := range heads {
		at, path := root, []string{h}
		if tree {
			path = strings.Split(h, ".")
		}
		for _, p := range path[:len(path)-1] {
			if at[p] == nil {
				at[p] = map[string]any{}
			}
			at = at[p].(map[string]any)
		}
		at[path[len(path)-1]] = json.RawMessage(value(k))
	}
	text, err := json.MarshalIndent(root, "", indent)
	if indent == "" {
		text, err = json.Marshal(root)
	}
	if err != nil {
		panic(err)
	}
	return string(text)
}

func (g *grid) xml() string {
	var b strings.Builder
	b.WriteString("<?xml version=\"1.0\"?>\n<export app=\"bay\">\n <group name=\"g\">\n")
	name := func(h string) string {
		return strings.Trim(strings.NewReplacer(" ", "", ".", "", "#", "Nr", "-", "", "(", "", ")", "", "/", "").Replace(h), "_")
	}
	for _, row := range g.rows {
		if g.s.shape == "attributes" {
			b.WriteString("  <swing")
			for k, c := range row {
				fmt.Fprintf(&b, " %s=%q", name(g.heads[k]), c)
			}
			b.WriteString("/>\n")
			continue
		}
		b.WriteString("  <swing>\n")
		for k, c := range row {
			if u := g.unitOf(g.heads[k]); g.s.shape == "valued" && u != "" {
				fmt.Fprintf(&b, "    <%s unit=%q>%s</%s>\n", name(g.heads[k]), u, c, name(g.heads[k]))
				continue
			}
			fmt.Fprintf(&b, "    <%s>%s</%s>\n", name(g.heads[k]), c, name(g.heads[k]))
		}
		b.WriteString("  </swing>\n")
	}
	b.WriteString(" </group>\n</export>\n")
	return b.String()
}
