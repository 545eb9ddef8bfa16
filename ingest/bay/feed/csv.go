package feed

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"fairlead/ingest/contract/event"
)

// split cuts a line into its cells, trimmed, and appends them to cells. A
// quoted cell may hold the delimiter, and the quote twice; it ends with its
// line. reason is not empty when the quotes are wrong.
func (s *csvStyle) split(line string, cells []string) (_ []string, reason string) {
	if s.widths != nil {
		return s.fixed(line, cells), ""
	}
	if s.delimiter == spaces {
		return append(cells, strings.Fields(line)...), ""
	}
	if s.quote == 0 || !strings.ContainsRune(line, s.quote) {
		width := utf8.RuneLen(s.delimiter)
		for {
			at := strings.IndexRune(line, s.delimiter)
			if at < 0 {
				return append(cells, strings.TrimSpace(line)), ""
			}
			cells = append(cells, strings.TrimSpace(line[:at]))
			line = line[at+width:]
		}
	}
	for {
		cell, rest, more, reason := s.cell(line)
		if reason != "" {
			return cells, reason
		}
		cells = append(cells, cell)
		if !more {
			return cells, ""
		}
		line = rest
	}
}

// spaces stands for any run of blanks between columns.
const spaces = '\uE000'

// fixed cuts a line by the columns' widths; what is left goes with the last.
func (s *csvStyle) fixed(line string, cells []string) []string {
	for i, width := range s.widths {
		end := 0
		for range width {
			if end < len(line) {
				_, size := utf8.DecodeRuneInString(line[end:])
				end += size
			}
		}
		if i == len(s.widths)-1 {
			end = len(line)
		}
		cells = append(cells, strings.TrimSpace(line[:end]))
		line = line[end:]
	}
	return cells
}

// cell takes one cell from the front of a line; more says that a delimiter followed.
func (s *csvStyle) cell(line string) (cell, rest string, more bool, reason string) {
	body := strings.TrimLeft(line, " ")
	if first, size := utf8.DecodeRuneInString(body); first == s.quote && size > 0 {
		var b strings.Builder
		body = body[size:]
		for {
			at := strings.IndexRune(body, s.quote)
			if at < 0 {
				return "", "", false, "a quote is opened and not closed"
			}
			b.WriteString(body[:at])
			body = body[at+size:]
			if next, _ := utf8.DecodeRuneInString(body); next != s.quote || body == "" {
				break
			}
			b.WriteRune(s.quote)
			body = body[size:]
		}
		at := strings.IndexRune(body, s.delimiter)
		after := body
		if at >= 0 {
			after, rest = body[:at], body[at+utf8.RuneLen(s.delimiter):]
		}
		if strings.TrimSpace(after) != "" {
			return "", "", false, "text follows a closed quote"
		}
		return strings.TrimSpace(b.String()), rest, at >= 0, ""
	}
	at := strings.IndexRune(line, s.delimiter)
	if at < 0 {
		return strings.TrimSpace(line), "", false, ""
	}
	return strings.TrimSpace(line[:at]), line[at+utf8.RuneLen(s.delimiter):], true, ""
}

// checkCells refuses a line with another number of cells than expected (0:
// any). Empty cells at the end are let pass: many devices end with a delimiter.
func (p *Parser) checkCells(text string, cells []string, want int, who string) *event.Fault {
	have := len(cells)
	for have > want && cells[have-1] == "" {
		have--
	}
	if want == 0 || have == want {
		return nil
	}
	hint := "the line may be cut short"
	if have > want {
		hint = "a cell may hold the delimiter without quotes, or two lines ran together"
	}
	return event.NewFault("", text, fmt.Sprintf("has %d cells, and %s %d", have, who, want), hint)
}

// isHeader says whether a row is a header: at least half of the columns that
// the map names stand in it as names. A map that only uses numbers takes the
// first row, and every row equal to it.
func (p *Parser) isHeader(cells []string) bool {
	named, hits := 0, 0
	for i := range p.m.cols {
		if p.m.cols[i].match == "" {
			continue
		}
		named++
		for _, c := range cells {
			if sameName(c, p.m.cols[i].match) || p.m.cols[i].also != nil && p.m.cols[i].called(c) {
				hits++
				break
			}
		}
		if named >= 4 && hits == 0 {
			return false // an ordinary row: not one of the first names
		}
	}
	if named > 0 {
		return hits > 0 && 2*hits >= named
	}
	if p.header == nil {
		return true
	}
	for i, c := range cells {
		if i >= len(p.header) || c != p.header[i] {
			return false
		}
	}
	return len(cells) == len(p.header)
}

// sameName compares a cell with a folded column name, cheaply for numbers.
func sameName(cell, match string) bool {
	if cell == "" || cell[0] < 'A' && cell[0] != match[0] {
		return false
	}
	return strings.EqualFold(cell, match)
}

func (p *Parser) setHeader(cells []string) {
	p.header = append([]string(nil), cells...)
	for i, name := range p.header {
		p.header[i] = strings.Clone(name)
	}
	p.place = make([]int, len(p.m.cols))
	for i := range p.m.cols {
		c := &p.m.cols[i]
		p.place[i] = c.index
		if c.match == "" {
			continue
		}
		for at, name := range p.header {
			if !c.called(name) {
				continue
			}
			if p.place[i] != absent {
				p.place[i] = doubled
				break
			}
			p.place[i] = at
		}
	}
}

// called says whether a header's cell names the column.
func (c *column) called(name string) bool {
	return strings.EqualFold(name, c.match) || slices.ContainsFunc(c.also, func(other string) bool { return strings.EqualFold(name, other) })
}
