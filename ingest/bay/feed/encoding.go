package feed

import (
	"bytes"
	"slices"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// encoding is how a file's bytes stand for text.
type encoding int

const (
	utf8Text  encoding = iota
	utf16Text          // byte order by its mark, little-endian without one
	utf16LE
	utf16BE
	latin1
	windows1252
)

var encodingNames = []string{"utf-8", "utf-16", "utf-16le", "utf-16be", "latin-1", "windows-1252"}

func encodingByName(name string) encoding { return encoding(slices.Index(encodingNames, name)) }

// start returns the encoding of a file by its first bytes, and how many of
// them are a byte order mark. A mark outranks what the map says.
func (e encoding) start(head []byte) (encoding, int) {
	switch {
	case bytes.HasPrefix(head, []byte{0xEF, 0xBB, 0xBF}):
		return utf8Text, 3
	case bytes.HasPrefix(head, []byte{0xFF, 0xFE}):
		return utf16LE, 2
	case bytes.HasPrefix(head, []byte{0xFE, 0xFF}):
		return utf16BE, 2
	case e == utf16Text:
		return utf16LE, 0
	}
	return e, 0
}

// partialMark says whether head may be the beginning of a byte order mark.
func partialMark(head []byte) bool {
	return len(head) < 3 && (bytes.HasPrefix([]byte{0xEF, 0xBB, 0xBF}, head) || bytes.HasPrefix([]byte{0xFF, 0xFE}, head) ||
		bytes.HasPrefix([]byte{0xFE, 0xFF}, head))
}

// newline finds the first line end at or after from, which is at the start of
// a character; next is where the following line begins. -1: there is none.
func (e encoding) newline(b []byte, from int) (end, next int) {
	switch e {
	case utf16LE, utf16BE:
		want := [2]byte{'\n', 0}
		if e == utf16BE {
			want = [2]byte{0, '\n'}
		}
		for i := from &^ 1; i+1 < len(b); i += 2 {
			if b[i] == want[0] && b[i+1] == want[1] {
				return i, i + 2
			}
		}
		return -1, -1
	}
	if i := bytes.IndexByte(b[from:], '\n'); i >= 0 {
		return from + i, from + i + 1
	}
	return -1, -1
}

// trimCR cuts the carriage return before a line end.
func (e encoding) trimCR(line []byte) []byte {
	switch {
	case e == utf16LE && bytes.HasSuffix(line, []byte{'\r', 0}), e == utf16BE && bytes.HasSuffix(line, []byte{0, '\r'}):
		return line[:len(line)-2]
	case e != utf16LE && e != utf16BE && len(line) > 0 && line[len(line)-1] == '\r':
		return line[:len(line)-1]
	}
	return line
}

// text decodes a line; ok is false when its bytes are no text of the encoding,
// and the text is then what could be read of it.
func (e encoding) text(line []byte) (text string, ok bool) {
	switch e {
	case utf16LE, utf16BE:
		return decode16(line, e == utf16BE)
	case latin1, windows1252:
		table := charmap.ISO8859_1
		if e == windows1252 {
			table = charmap.Windows1252
		}
		if isASCII(line) {
			return string(line), true
		}
		out, err := table.NewDecoder().Bytes(line)
		return string(out), err == nil && !bytes.ContainsRune(out, utf8.RuneError)
	}
	line = bytes.TrimPrefix(line, []byte{0xEF, 0xBB, 0xBF}) // files pasted together carry marks inside
	if !utf8.Valid(line) {
		return string(bytes.ToValidUTF8(line, []byte("\uFFFD"))), false
	}
	return string(line), true
}

func decode16(line []byte, big bool) (string, bool) {
	ok := len(line)%2 == 0
	units := make([]uint16, 0, len(line)/2)
	for i := 0; i+1 < len(line); i += 2 {
		u := uint16(line[i]) | uint16(line[i+1])<<8
		if big {
			u = u<<8 | u>>8
		}
		units = append(units, u)
	}
	if len(units) > 0 && units[0] == 0xFEFF {
		units = units[1:]
	}
	text := string(utf16.Decode(units))
	return text, ok && !bytes.ContainsRune([]byte(text), utf8.RuneError)
}

func isASCII(b []byte) bool {
	for _, c := range b {
		if c >= utf8.RuneSelf {
			return false
		}
	}
	return true
}
