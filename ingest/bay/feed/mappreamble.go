package feed

import (
	"regexp"
	"strings"
)

// preambleValue is a text that stands once for many shots: above a table, or
// between the records of a file. It may be used as a column by its name.
type preambleValue struct {
	name    string // as in the map
	pattern *regexp.Regexp
}

// readPreamble reads preamble: names with a pattern of one group each.
func (m *Map) readPreamble(k map[string]node) error {
	n, ok := k["preamble"]
	if !ok {
		return nil
	}
	pairs, err := n.pairs()
	if err != nil {
		return err
	}
	for _, p := range pairs {
		pattern, err := oneGroup(p.value, "(?im)")
		if err != nil {
			return err
		}
		m.preamble = append(m.preamble, preambleValue{strings.TrimSpace(p.key), pattern})
	}
	return nil
}

// aboveValue is what a file says of one, and the line that says it.
type aboveValue struct {
	cell
	line string
}

// above is the place of a preamble's value by its name, from 1; 0: there is none.
func (m *Map) above(name string) int {
	for i := range m.preamble {
		if strings.EqualFold(m.preamble[i].name, name) {
			return i + 1
		}
	}
	return 0
}

// takePreamble takes the values that a text holds; they hold for all that
// follows in the file. found is false where it holds none.
func (p *Parser) takePreamble(text string) (found bool) {
	for i := range p.m.preamble {
		if groups := p.m.preamble[i].pattern.FindStringSubmatch(text); groups != nil {
			value := strings.Clone(strings.Trim(strings.TrimSpace(groups[1]), `"`))
			said := aboveValue{cell{text: value, missing: p.m.missing[value]}, strings.Clone(text)}
			p.above[i], found = said, true
		}
	}
	return found
}

// between takes what stood between two records that are no lines.
func (p *Parser) between(gap []byte) {
	if len(gap) == 0 {
		return
	}
	if text, ok := p.enc.text(gap); ok {
		if text = strings.ReplaceAll(text, "\r", ""); p.takePreamble(text) {
			p.laidOut(text, true)
		}
	}
}

// lookup finds a column of a record with keys.
func (p *Parser) lookup(object map[string]any, slot int) cell {
	c := &p.m.cols[slot]
	if c.above > 0 {
		return p.above[c.above-1].cell
	}
	if c.part > 0 {
		return p.partOf(c.part)
	}
	return lookup(object, c)
}
