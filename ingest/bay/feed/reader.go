package feed

import (
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"fairlead/ingest/contract/event"
)

// Reader reads one whole file or stream through a map. It serves one goroutine.
type Reader struct {
	lines *lines
	p     *Parser
}

// NewReader reads r to its end; file is the base name that stands in entries.
func NewReader(m *Map, file string, r io.Reader) *Reader {
	if m.Whole() {
		laid, err := m.laid(r)
		if r = laid; err != nil {
			r = failing{err}
		}
	}
	return &Reader{lines: newLines(&stream{r: r}, m), p: m.Parser(file)}
}

// OpenReader reads a file by its path, with what belongs to it; most bounds how
// much of a file of lines is read, 0: all. Close ends it.
func OpenReader(m *Map, path string, most int64) (*Reader, io.Closer, error) {
	if m.holder == holderDatabase && !strings.HasSuffix(path, ".gz") {
		text, err := m.laidFile(path)
		if err != nil {
			return nil, nil, fmt.Errorf("%s %w", path, err)
		}
		return newFileReader(m, filepath.Base(path), text), io.NopCloser(nil), nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, nil, err
	}
	var in io.Reader = f
	name, packed := strings.CutSuffix(filepath.Base(path), ".gz")
	if packed {
		z, err := gzip.NewReader(f)
		if err != nil {
			return nil, nil, errors.Join(fmt.Errorf("%s is no gzip file: %w", path, err), f.Close())
		}
		in = z
	}
	if most > 0 && !m.Whole() {
		in = io.LimitReader(in, most)
	}
	return NewReader(m, name, in), f, nil
}

// failing is a file that can't be read.
type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

// Next returns the next draft; io.EOF after the last.
func (r *Reader) Next() (Draft, error) {
	for {
		d, ok, err := r.step(true)
		if err != nil || ok {
			return d, err
		}
	}
}

// Skipped returns how many lines made no entry so far.
func (r *Reader) Skipped() Skipped { return r.p.skipped }

// Clock says what a person should know of the file's times; "" when all is well.
func (r *Reader) Clock() string { return r.p.clock.says() }

// step reads one line; ok is false when it makes no entry.
func (r *Reader) step(final bool) (Draft, bool, error) {
	raw, cut, err := r.lines.next(final)
	if err != nil {
		return Draft{}, false, err
	}
	r.p.enc = r.lines.enc
	r.p.between(r.lines.gap)
	return r.p.parse(raw, cut)
}

// newFileReader reads a file that may grow.
func newFileReader(m *Map, file string, f io.ReaderAt) *Reader {
	return &Reader{lines: newLines(f, m), p: m.Parser(file)}
}

// resume passes what an earlier life has read, up to offset.
func (r *Reader) resume(offset int64) error {
	whole := r.lines.r
	front := make([]byte, min(offset+2, bufBytes)) // what follows a line's end tells which end it is
	n, _ := whole.ReadAt(front, 0)
	r.lines.enc, _ = r.lines.enc.start(front[:n])
	r.lines.findEnds(front[:n])
	defer func() { r.lines.r = whole }()
	r.lines.r = io.NewSectionReader(whole, 0, offset)
	for {
		raw, cut, err := r.lines.next(true)
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		r.p.enc = r.lines.enc
		r.p.between(r.lines.gap)
		r.p.observe(raw, cut)
	}
	if r.lines.off != offset {
		return fmt.Errorf("the place %d in %s is behind its end at %d", offset, r.p.file, r.lines.off)
	}
	r.p.skipped = Skipped{}
	return nil
}

// stream lets lines read a plain io.Reader: in order, each byte once.
type stream struct {
	r  io.Reader
	at int64
}

func (s *stream) ReadAt(p []byte, off int64) (int, error) {
	if off != s.at {
		return 0, fmt.Errorf("read at %d of a stream that is at %d", off, s.at)
	}
	n, err := s.r.Read(p)
	for n == 0 && err == nil && len(p) > 0 {
		n, err = s.r.Read(p)
	}
	s.at += int64(n)
	return n, err
}

// ParseAll reads a whole file and finishes every entry with the same stamp.
func ParseAll(m *Map, file string, r io.Reader, s Stamp) (entries []*event.Entry, skipped Skipped, err error) {
	in := NewReader(m, file, r)
	if s.Numbers == nil {
		s.Numbers = &Numbers{}
	}
	for {
		d, err := in.Next()
		if err == io.EOF {
			return entries, in.Skipped(), nil
		}
		if err != nil {
			return entries, in.Skipped(), err
		}
		entries = append(entries, d.Finish(s))
	}
}
