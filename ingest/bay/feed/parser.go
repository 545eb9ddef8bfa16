package feed

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/event"
)

// MaxLine is the longest line that is read as one, in bytes. A longer one is
// refused with its first CutLine bytes, and reading goes on at the next line.
const (
	MaxLine = 64 << 10
	CutLine = 4 << 10
)

// Skipped counts lines that carry nothing: they make no entry.
type Skipped struct {
	Empty, Comment, Header uint64
	Rows                   uint64 // that the map leaves out
}

// less is what was counted since earlier.
func (s Skipped) less(earlier Skipped) Skipped {
	return Skipped{s.Empty - earlier.Empty, s.Comment - earlier.Comment, s.Header - earlier.Header, s.Rows - earlier.Rows}
}

func (s Skipped) plus(o Skipped) Skipped {
	return Skipped{s.Empty + o.Empty, s.Comment + o.Comment, s.Header + o.Header, s.Rows + o.Rows}
}

// Total is the number of all skipped lines.
func (s Skipped) Total() uint64 { return s.Empty + s.Comment + s.Header + s.Rows }

// Parser turns the lines of one file into drafts. It does no I/O, and its
// result depends on nothing but the map, the file's name and the lines before.
// It serves one goroutine.
type Parser struct {
	m       *Map
	file    string
	enc     encoding
	line    uint64
	header  []string // nil: none yet
	place   []int    // for each column of the map: its cell; see absent, doubled
	cells   []string // scratch
	seen    *occurrences
	skipped Skipped
	heading string       // the header as it stands
	layout  []string     // lines since the last entry that give the next ones their meaning
	units   bool         // the next row is the header's units
	text    string       // the line, for the parts that patterns take out of it
	above   []aboveValue // the values of the map's preamble, as far as they were met
	clock   fileClock
	other   int64 // the other moment that the line's time may name; 0: none
}

// Where a column is not.
const (
	absent  = -1
	doubled = -2
)

// Parser begins a file: its base name stands in the entries.
func (m *Map) Parser(file string) *Parser {
	enc, _ := m.enc.start(nil)
	p := &Parser{m: m, file: file, enc: enc, seen: newOccurrences(), above: make([]aboveValue, len(m.preamble))}
	for i := range p.above {
		p.above[i].missing = true
	}
	if !m.NeedsHeader() {
		p.place = make([]int, len(m.cols))
		for i, c := range m.cols {
			p.place[i] = c.index
		}
	}
	return p
}

// Skipped returns how many lines made no entry so far.
func (p *Parser) Skipped() Skipped { return p.skipped }

// Line parses the next line, given without its line end. ok is false for a line
// that makes no entry: empty, a comment, a header. The draft keeps a copy of raw.
func (p *Parser) Line(raw []byte) (d Draft, ok bool, err error) { return p.parse(raw, false) }

// parse is Line; cut says that raw is the front of a longer line.
func (p *Parser) parse(raw []byte, cut bool) (Draft, bool, error) {
	text, cells, fault, skip := p.read(raw, cut)
	if skip {
		return Draft{}, false, nil
	}
	occurrence := p.seen.next(raw)
	p.other = 0
	e := &event.Entry{
		Contract: event.Contract, Device: p.m.device, Role: p.m.role, File: p.file, Line: p.line,
		Raw: append([]byte(nil), raw...),
	}
	if fault != nil {
		e.Faults = append(e.Faults, fault)
	} else {
		p.fill(e, text, cells)
	}
	p.sayLayout(e)
	return Draft{Entry: e, OtherUnixNs: p.other, m: p.m, occurrence: occurrence, cut: cut}, true, nil
}

// observe takes a line that was parsed in an earlier life, for what later lines
// need to know of it: the line count, the header, how often it occurred.
func (p *Parser) observe(raw []byte, cut bool) {
	if _, _, _, skip := p.read(raw, cut); !skip {
		p.seen.next(raw)
		p.layout = p.holds()
	}
}

// read decodes a line and cuts it into cells (CSV). It returns a fault for a
// line that is no text or no row at all, and whether the line makes no entry.
func (p *Parser) read(raw []byte, cut bool) (text string, cells []string, fault *event.Fault, skip bool) {
	p.line++
	text, ok := p.enc.text(raw)
	if ok && !cut && p.m.preamble != nil && p.takePreamble(text) || p.line <= uint64(p.m.csv.skip) {
		p.laidOut(text, true)
		p.skipped.Header++
		return "", nil, nil, true
	}
	trimmed := strings.TrimSpace(text)
	switch {
	case trimmed == "" && ok:
		p.skipped.Empty++
		return "", nil, nil, true
	case cut:
		return "", nil, event.NewFault("", text, fmt.Sprintf("longer than %d bytes", MaxLine),
			"check that the file is what the map says, and its encoding"), false
	case strings.ContainsRune(text, 0):
		return "", nil, event.NewFault("", strings.ReplaceAll(text, "\x00", "␀"), "holds NUL bytes",
			"the file was damaged, often by a power cut while the device wrote, or it is UTF-16: check encoding in the map"), false
	case !ok:
		return "", nil, event.NewFault("", text, "is not text in the map's encoding", "set encoding in the map, such as windows-1252"), false
	case p.m.isComment(trimmed):
		p.laidOut(text, false)
		p.skipped.Comment++
		return "", nil, nil, true
	case p.m.ndjson:
		if p.m.rows != nil && p.leftOut(trimmed, nil) {
			p.skipped.Rows++
			return "", nil, nil, true
		}
		return trimmed, nil, nil, false
	}
	cells, reason := p.m.csv.split(text, p.cells[:0])
	p.cells = cells
	if reason != "" {
		return text, nil, event.NewFault("", text, reason, "the line may be cut short, or csv.quote in the map is wrong"), false
	}
	if units := p.units; units && !(p.m.rows != nil && p.leftOut(text, cells)) {
		p.units = false
		if !p.holdsValues(cells) { // a header that comes again may come without its units
			p.skipped.Header++
			return "", nil, nil, true
		}
	}
	if p.m.rows != nil && (p.header != nil || !p.m.csv.header) && !(p.m.csv.header && p.isHeader(cells)) && p.leftOut(text, cells) {
		p.skipped.Rows++
		return "", nil, nil, true
	}
	if !p.m.csv.header {
		return text, cells, p.checkCells(text, cells, p.m.csv.cells, "the map says"), false
	}
	if p.isHeader(cells) {
		p.setHeader(cells)
		p.heading = strings.Clone(text)
		p.laidOut(text, true)
		p.units = p.m.csv.units
		p.skipped.Header++
		return "", nil, nil, true
	}
	if p.header == nil {
		return text, nil, event.NewFault("", text, "stands where the header should be",
			"check the column names in the map, csv.skip, csv.delimiter, or write header: false"), false
	}
	return text, cells, p.checkCells(text, cells, len(p.header), "the header has"), false
}

// fill reads everything the map names from a row (CSV) or an object (NDJSON).
func (p *Parser) fill(e *event.Entry, text string, cells []string) {
	p.text = text
	var get func(slot int) cell
	if p.m.ndjson {
		object, fault := p.m.object(text)
		if fault != nil {
			e.Faults = append(e.Faults, fault)
			return
		}
		get = func(slot int) cell { return p.lookup(object, slot) }
	} else {
		get = func(slot int) cell { return p.cellAt(slot, cells) }
	}
	p.fillIdentity(e, get)
	measured := false
	for i := range p.m.fields {
		before := len(e.Measures)
		p.m.fields[i].fill(e, p.m, get)
		measured = measured || p.m.fields[i].slot >= 0 && len(e.Measures) > before
	}
	if !measured {
		e.Measures = nil // constants alone are no shot
	}
	p.m.fillTexts(e, get)
}

// holdsValues says whether most of the measures that a row has are numbers.
func (p *Parser) holdsValues(cells []string) bool {
	numbers, filled := 0, 0
	for _, f := range p.m.fields {
		if f.slot < 0 || p.place[f.slot] < 0 || p.place[f.slot] >= len(cells) || cells[p.place[f.slot]] == "" {
			continue
		}
		filled++
		if first := strings.TrimLeft(cells[p.place[f.slot]], "+-−LRlr ,."); first != "" && first[0] >= '0' && first[0] <= '9' &&
			cells[p.place[f.slot]] != "1" {
			numbers++
		}
	}
	return filled > 0 && 2*numbers > filled
}

func (p *Parser) cellAt(slot int, cells []string) cell {
	if at := p.m.cols[slot].above; at > 0 {
		return p.above[at-1].cell
	}
	if at := p.m.cols[slot].part; at > 0 {
		return p.partOf(at)
	}
	switch at := p.place[slot]; {
	case at == doubled:
		return cell{problem: "stands twice in the header", hint: "write the column's number from 1 in the map"}
	case at == absent && p.m.cols[slot].need:
		return cell{problem: "is not in the header", hint: "the file's columns are " + strings.Join(p.header, ", ")}
	case at == absent:
		return cell{missing: true}
	case at >= len(cells):
		return cell{problem: fmt.Sprintf("is column %d of a line with %d", at+1, len(cells)),
			hint: "the line may be cut short; check csv.delimiter"}
	default:
		return cell{text: cells[at], missing: p.m.missing[cells[at]]}
	}
}
