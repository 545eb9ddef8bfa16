package feed

import (
	"regexp"
	"strings"
)

// partValue is a text that a pattern takes out of the whole line: the time that
// a log puts before each record, a value of a sentence. It may be used as a
// column by its name.
type partValue struct {
	name    string
	pattern *regexp.Regexp
}

// readParts reads parts: names with a pattern of one group each.
func (m *Map) readParts(k map[string]node) error {
	n, ok := k["parts"]
	if !ok {
		if m.kind == kindText {
			return k["format"].bad("has no columns but those of parts", "add `parts: {Ball: \"ball ([0-9.]+) mph\"}`, a pattern for each value")
		}
		return nil
	}
	if m.csv.transposed || m.csv.long != nil {
		return n.bad("stands in a map whose rows are no lines", "remove it")
	}
	pairs, err := n.pairs()
	if err != nil {
		return err
	}
	for _, p := range pairs {
		pattern, err := oneGroup(p.value, "(?i)")
		if err != nil {
			return err
		}
		if m.above(p.key) > 0 {
			return p.value.bad("is a name of the preamble too", "give it another name")
		}
		m.parts = append(m.parts, partValue{p.key, pattern})
	}
	return nil
}

// oneGroup is a pattern with one group.
func oneGroup(n node, flags string) (*regexp.Regexp, error) {
	text, err := n.str()
	if err != nil {
		return nil, err
	}
	pattern, err := regexp.Compile(flags + text)
	if err != nil {
		return nil, n.bad("is no pattern: "+err.Error(), "write a regular expression with one group, such as \"^Date: (.+)$\"")
	}
	if pattern.NumSubexp() != 1 {
		return nil, n.bad("needs exactly one group in parentheses", "such as \"^Date: (.+)$\"")
	}
	return pattern, nil
}

// part is the place of a part by its name, from 1; 0: there is none.
func (m *Map) part(name string) int {
	for i := range m.parts {
		if fold(m.parts[i].name) == fold(name) {
			return i + 1
		}
	}
	return 0
}

// partOf takes a part out of the line that is being read.
func (p *Parser) partOf(at int) cell {
	found := p.m.parts[at-1].pattern.FindStringSubmatch(p.text)
	if found == nil {
		return cell{missing: true}
	}
	text := strings.TrimSpace(found[1])
	return cell{text: text, missing: p.m.missing[text]}
}
