package sample

import (
	"encoding/xml"
	"io"
	"strconv"
	"strings"
)

// tree is an element.
type tree struct {
	name string
	attr []xml.Attr
	kids []*tree
	text string
	up   *tree
}

// within says whether an element lies in one of the name.
func (e *tree) within(name string) bool {
	for at := e.up; at != nil; at = at.up {
		if at.name == name {
			return true
		}
	}
	return false
}

func (t *Table) readXML(texts []string) bool {
	var roots []*tree
	for _, text := range texts {
		roots = append(roots, parseXML(text))
	}
	// A shot's element is the one that has most values in all.
	weight, count := map[string]int{}, map[string]int{}
	for _, r := range roots {
		r.walk(func(e *tree) {
			n := len(e.attr)
			for _, k := range e.kids {
				if len(k.kids) == 0 {
					n += 1 + len(k.attr)
				} else {
					n++
				}
			}
			if n >= 2 && !e.calledByName() {
				weight[e.name] += n
				count[e.name]++
			}
		})
	}
	best := ""
	for name, w := range weight {
		if best == "" || count[name] > 1 && count[best] == 1 || (count[name] > 1) == (count[best] > 1) &&
			(w > weight[best] || w == weight[best] && name < best) {
			best = name
		}
	}
	if best == "" {
		return false
	}
	if best = outer(roots, best, count); count["td"] > 2*count["tr"] && count["tr"] > 0 || best == "tbody" || best == "table" {
		best = "tr"
	}
	var titles []string
	t.Format, t.Records = "xml", best
	for i, r := range roots {
		r.walk(func(e *tree) {
			if e.name != best && !e.within(best) {
				for _, a := range e.attr {
					t.Preamble = append(t.Preamble, e.name+" "+a.Name.Local+": "+a.Value)
				}
				if words := strings.TrimSpace(e.text); words != "" {
					t.Preamble = append(t.Preamble, e.name+": "+words)
				}
			}
			if heads := e.heads(); e.name == best && heads != nil {
				titles = heads
				t.skipLine("<th[ >]")
				return
			}
			if e.name == best && t.Rows < maxRows {
				e.put(t, "")
				t.endRow(i)
			}
		})
	}
	for i := range t.Columns {
		if n, err := strconv.Atoi(strings.TrimPrefix(t.Columns[i].Name, "td.")); err == nil && n < len(titles) {
			t.Columns[i].Title = titles[n]
		}
	}
	return true
}

// heads are the names in the first row of a page's table; nil of any other element.
func (e *tree) heads() (out []string) {
	for _, k := range e.kids {
		if k.name != "th" {
			return nil
		}
		out = append(out, strings.TrimSpace(k.words()))
	}
	return out
}

// words is an element's text with that of the elements within.
func (e *tree) words() string {
	text := e.text
	for _, k := range e.kids {
		text += " " + k.words()
	}
	return text
}

// outer prefers the element around the best one, where each of those has
// exactly one of these: the shot around its ball.
func outer(roots []*tree, best string, count map[string]int) string {
	around := map[string]int{}
	for _, r := range roots {
		r.walk(func(e *tree) {
			n := 0
			for _, k := range e.kids {
				if k.name == best {
					n++
				}
			}
			if n == 1 {
				around[e.name]++
			} else if n > 1 {
				around[e.name] -= 1 << 20
			}
		})
	}
	for name, n := range around {
		if n > 1 && n == count[best] && name != "" {
			return outer(roots, name, map[string]int{name: n})
		}
	}
	return best
}

// deepest bounds how deep elements lie in one another: what is deeper is no
// device's output, and each look at it would take longer than the one before.
const deepest = 64

func parseXML(text string) *tree {
	root := &tree{}
	stack := []*tree{root}
	d := xml.NewDecoder(strings.NewReader(text))
	d.Strict = false
	if strings.Contains(text, "<tr") || strings.Contains(text, "<TR") {
		d.AutoClose, d.Entity = xml.HTMLAutoClose, xml.HTMLEntity
	}
	d.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil }
	for {
		token, err := d.Token()
		if err != nil || len(stack) > deepest {
			return root
		}
		top := stack[len(stack)-1]
		switch tok := token.(type) {
		case xml.StartElement:
			e := &tree{name: tok.Name.Local, attr: tok.Copy().Attr}
			e.up = top
			top.kids = append(top.kids, e)
			stack = append(stack, e)
		case xml.CharData:
			top.text += string(tok)
		case xml.EndElement:
			if len(stack) > 1 {
				stack = stack[:len(stack)-1]
			}
		}
	}
}

func (e *tree) walk(f func(*tree)) {
	if e.name != "" {
		f(e)
	}
	for _, k := range e.kids {
		k.walk(f)
	}
}

// put writes an element's values as feed maps name them.
func (e *tree) put(t *Table, path string) {
	at := func(name string) string {
		if path == "" {
			return name
		}
		return path + "." + name
	}
	for _, a := range e.attr {
		t.put(at(a.Name.Local), strings.TrimSpace(a.Value))
	}
	words := strings.TrimSpace(e.text)
	if len(e.kids) == 0 && len(e.attr) == 0 {
		if path != "" {
			t.put(path, words)
		}
		return
	}
	if words != "" {
		t.put(at("text"), words)
	}
	many := map[string]int{}
	for _, k := range e.kids {
		many[k.name]++
	}
	nth := map[string]int{}
	for _, k := range e.kids {
		name := k.name
		if k.calledByName() {
			k.put(t, at(name+"."+k.ownName()))
			continue
		}
		if many[name] > 1 && len(many) == 1 { // a list: the cells of a row
			name += "." + strconv.Itoa(nth[k.name])
			nth[k.name]++
		}
		k.put(t, at(name))
	}
}
