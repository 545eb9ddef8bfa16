package feed

import (
	"bytes"
	"errors"
	"io"
)

// lines cuts a file into lines. It never keeps more than one buffer, reads a
// half-written line from the file again each time (the device may overwrite
// what it had only reserved), and remembers the first and last bytes it passed,
// by which the place is known again.
type lines struct {
	r       io.ReaderAt
	enc     encoding
	started bool   // the byte order mark is behind us
	frame   *frame // nil: records are lines
	gaps    bool   // what stands between records is wanted
	gap     []byte // what stood before the last record, where gaps are wanted
	cr      bool   // lines end with a carriage return alone
	start   int64  // where the line last returned begins
	off     int64  // where the next line begins
	buf     []byte // bytes of the file from bufAt
	bufAt   int64
	head    []byte // the first bytes passed, at most headBytes
	tail    []byte // the last bytes passed, at most tailBytes

	// Within an unfinished line longer than MaxLine: where the search for its
	// end goes on, and the tail there.
	longAt   int64
	longTail []byte
}

const (
	bufBytes  = 128 << 10
	headBytes = 512
	tailBytes = 64
)

func newLines(r io.ReaderAt, m *Map) *lines {
	return &lines{r: r, enc: m.enc, frame: m.frame(), gaps: m.preamble != nil, buf: make([]byte, 0, bufBytes)}
}

// next returns the next line without its end, valid until the next call; cut
// says that it is only the front of a line longer than MaxLine. io.EOF: there
// is no whole line yet. final takes what is left as a last line without an end.
func (l *lines) next(final bool) (raw []byte, cut bool, err error) {
	if !l.started {
		if err := l.begin(final); err != nil {
			return nil, false, err
		}
	}
	searched := 0
	for {
		have := l.have()
		if l.frame != nil {
			raw, done, err := l.framed(have, final)
			if done || err != nil {
				return raw, false, err
			}
		}
		l.findEnds(have)
		if end, next := l.newline(have, searched); end >= 0 && l.frame == nil {
			return l.take(have[:end], next), end > MaxLine, nil
		}
		if len(have) > MaxLine {
			return l.long(final)
		}
		searched = len(have)
		switch more, err := l.read(); {
		case err != nil:
			return nil, false, err
		case more:
		case final && len(l.have()) > 0 && !allNUL(l.have()):
			return l.take(l.have(), len(l.have())), false, nil
		default:
			l.buf, l.bufAt = l.buf[:0], l.off
			return nil, false, io.EOF
		}
	}
}

// pending is the length of the half-written line seen by the last next.
func (l *lines) pending(size int64) int64 { return max(0, size-l.off) }

// begin finds the encoding by the file's first bytes.
func (l *lines) begin(final bool) error {
	for len(l.buf) < 3 {
		more, err := l.read()
		if err != nil {
			return err
		}
		if !more {
			break
		}
	}
	if len(l.buf) == 0 || partialMark(l.buf) && !final {
		l.buf = l.buf[:0]
		return io.EOF
	}
	enc, mark := l.enc.start(l.buf)
	l.enc, l.started = enc, true
	l.pass(l.buf[:mark])
	l.off = int64(mark)
	return nil
}

// framed finds the next record that is no line. done: raw is one; else more of
// the file is needed, or it is longer than MaxLine.
func (l *lines) framed(have []byte, final bool) (raw []byte, done bool, err error) {
	start, end := l.frame.find(have, !l.passed())
	if end >= 0 && end-start <= MaxLine {
		if l.gap = l.gap[:0]; l.gaps {
			l.gap = append(l.gap, have[:start]...)
		}
		l.take(have[:0], end)
		return bytes.TrimRight(have[start:end], "\r\n"), true, nil
	}
	if len(have) > MaxLine {
		return nil, false, nil
	}
	more, err := l.read()
	if err != nil {
		return nil, false, err
	}
	if more {
		return l.framed(l.have(), final)
	}
	if have = l.have(); final && len(have) > 0 && l.frame.rest(have, !l.passed()) {
		l.take(have[:0], len(have))
		return bytes.TrimSpace(have), true, nil
	}
	l.buf, l.bufAt = l.buf[:0], l.off
	return nil, false, io.EOF
}

// findEnds sees from the first line whether lines end with a carriage return
// alone: one that is followed by something else, and no line feed before it.
func (l *lines) findEnds(have []byte) {
	if l.cr || l.passed() || l.enc == utf16LE || l.enc == utf16BE {
		return
	}
	at := bytes.IndexByte(have, '\r')
	l.cr = at >= 0 && at+1 < len(have) && have[at+1] != '\n' && have[at+1] != '\r' && bytes.IndexByte(have[:at], '\n') < 0
}

// passed says whether a line is behind us.
func (l *lines) passed() bool { return l.off > 3 }

func (l *lines) newline(b []byte, from int) (end, next int) {
	if !l.cr {
		return l.enc.newline(b, from)
	}
	if i := bytes.IndexByte(b[from:], '\r'); i >= 0 {
		return from + i, from + i + 1
	}
	return -1, -1
}

func (l *lines) have() []byte { return l.buf[l.off-l.bufAt:] }

// read adds bytes of the file to the buffer; more is false at its end.
func (l *lines) read() (more bool, err error) {
	if l.started && l.off > l.bufAt {
		n := copy(l.buf[:cap(l.buf)], l.have())
		l.buf, l.bufAt = l.buf[:n], l.off
	}
	n, err := l.r.ReadAt(l.buf[len(l.buf):cap(l.buf)], l.bufAt+int64(len(l.buf)))
	l.buf = l.buf[:len(l.buf)+n]
	if errors.Is(err, io.EOF) {
		err = nil
	}
	return n > 0, err
}

// take steps over a line and its end; width is the length of both.
func (l *lines) take(line []byte, width int) []byte {
	l.pass(l.have()[:width])
	l.start, l.off, l.longAt = l.off, l.off+int64(width), 0
	if len(line) > MaxLine {
		return line[:CutLine]
	}
	return l.enc.trimCR(line)
}

// long steps over a line longer than MaxLine, of which the buffer holds the
// front, and returns its front.
func (l *lines) long(final bool) ([]byte, bool, error) {
	front, passed := bytes.Clone(l.have()[:CutLine]), bytes.Clone(l.tail)
	at := l.off + int64(len(l.have()))
	if l.longAt > at {
		at, l.tail = l.longAt, append(l.tail[:0], l.longTail...)
	} else {
		l.pass(l.have())
	}
	wide := l.enc == utf16LE || l.enc == utf16BE
	for {
		n, err := l.fill(at, wide)
		if err != nil {
			return nil, false, err
		}
		end, next := l.newline(l.buf, 0)
		if end >= 0 || n == 0 && final {
			if end < 0 {
				next = len(l.buf)
			}
			l.pass(l.buf[:next])
			l.start, l.off, l.longAt = l.off, at+int64(next), 0
			return front, true, nil
		}
		if n == 0 {
			l.longAt, l.longTail = at, bytes.Clone(l.tail)
			l.tail = append(l.tail[:0], passed...)
			l.buf, l.bufAt = l.buf[:0], l.off
			return nil, false, io.EOF
		}
		l.pass(l.buf[:n])
		at += int64(n)
	}
}

// fill puts the bytes at a place into the buffer, and returns how many of them
// are whole characters (wide: of two bytes).
func (l *lines) fill(at int64, wide bool) (int, error) {
	n, err := l.r.ReadAt(l.buf[:cap(l.buf)], at)
	if wide && n%2 == 1 && err == nil {
		var more int
		more, err = l.r.ReadAt(l.buf[n:n+1], at+int64(n))
		n += more
	}
	if err != nil && !errors.Is(err, io.EOF) {
		return 0, err
	}
	l.buf, l.bufAt = l.buf[:n], at
	if wide {
		n &^= 1
	}
	return n, nil
}

// pass remembers bytes that reading has left behind.
func (l *lines) pass(b []byte) {
	if room := headBytes - len(l.head); room > 0 {
		l.head = append(l.head, b[:min(room, len(b))]...)
	}
	if len(b) >= tailBytes {
		l.tail = append(l.tail[:0], b[len(b)-tailBytes:]...)
		return
	}
	if over := len(l.tail) + len(b) - tailBytes; over > 0 {
		l.tail = l.tail[:copy(l.tail, l.tail[over:])]
	}
	l.tail = append(l.tail, b...)
}

func allNUL(b []byte) bool { return len(bytes.Trim(b, "\x00")) == 0 }
