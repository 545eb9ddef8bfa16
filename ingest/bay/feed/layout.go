package feed

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
)

// mostLayout is how much of comments an entry keeps, in bytes; headers and
// values above the table are kept whatever they take.
const mostLayout = 4 << 10

// laidOut remembers a line that makes no entry and may give the next ones their
// meaning: a header, a value above the table, a comment.
func (p *Parser) laidOut(text string, must bool) {
	size := len(text)
	for _, l := range p.layout {
		size += len(l)
	}
	if !must && size > mostLayout || len(text) > mostLayout || slices.Contains(p.layout, text) {
		return
	}
	p.layout = append(p.layout, strings.ToValidUTF8(strings.Clone(text), "\uFFFD"))
}

// sayLayout writes it into the first entry after it, so that a corrected map
// can read the lines again when their file is gone.
func (p *Parser) sayLayout(e *event.Entry) {
	if p.layout != nil {
		e.Layout, p.layout = strings.Join(p.layout, "\n"), nil
	}
	if declared, _ := p.m.enc.start(nil); p.enc != declared {
		e.Encoding = encodingNames[p.enc]
	}
}

// holds is what of the lines above still holds: an entry of the next life says
// it again, since the journal may have let go of the one that said it first. A
// note above shots of before is no part of it.
func (p *Parser) holds() (out []string) {
	for i := range p.above {
		if said := p.above[i].line; said != "" && !slices.Contains(out, said) {
			out = append(out, said)
		}
	}
	if p.heading != "" {
		out = append(out, p.heading)
	}
	return out
}

// takeLayout takes in what stood before a line.
func (p *Parser) takeLayout(layout string) {
	was := p.enc
	p.enc = utf8Text
	p.line = max(p.line, uint64(p.m.csv.skip))
	lines := strings.Split(layout, "\n")
	if p.header == nil && !slices.ContainsFunc(p.m.cols, func(c column) bool { return c.match != "" }) {
		lines = lines[len(lines)-1:] // any row would do as the header: it is the last
	}
	for _, line := range lines {
		p.read([]byte(line), false)
	}
	p.between([]byte(layout))
	p.enc, p.units, p.layout = was, false, nil
}

// LayoutOf takes from a file of the device what stands above its first shot, as
// the map sees it, for Again.
func LayoutOf(path, mapFile string) (string, error) {
	m, err := LoadMap(mapFile)
	if err != nil {
		return "", err
	}
	f, err := os.Open(path)
	if err != nil {
		return "", fmt.Errorf("read the table's header: %w", err)
	}
	defer f.Close()
	r := NewReader(m, filepath.Base(path), f)
	for {
		d, err := r.Next()
		if errors.Is(err, io.EOF) {
			return strings.Join(r.p.layout, "\n"), nil // a header without a shot
		}
		if err != nil {
			return "", fmt.Errorf("read the table's header: %w", err)
		}
		if d.Entry.Layout != "" {
			return d.Entry.Layout, nil
		}
	}
}
