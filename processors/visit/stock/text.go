package stock

import (
	"bytes"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/unicode"
)

// plainText is a file as lines of text. Of what is none it says what it is, and what
// to try; line is where, 0: all of it.
func plainText(data []byte) (text string, line int, reason, try string) {
	const csvTry = "save it as CSV, encoded as UTF-8"
	if bytes.HasPrefix(data, []byte{0xff, 0xfe}) || bytes.HasPrefix(data, []byte{0xfe, 0xff}) {
		out, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Bytes(data)
		if err != nil || len(data)%2 != 0 {
			return "", 0, "is text in UTF-16, and breaks off", csvTry
		}
		data = out
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	first := bytes.TrimSpace(data)
	first = first[:min(len(first), 1)]
	switch {
	case len(first) == 0:
		return "", 0, "the file is empty", "give a header line and one line a part, as `fairlead stock import --help` shows"
	case bytes.HasPrefix(data, []byte("PK")) || bytes.IndexByte(data, 0) >= 0:
		return "", 0, "is no text, but a workbook or a program's file", csvTry
	case !utf8.Valid(data):
		return "", 1 + bytes.Count(data[:invalid(data)], []byte("\n")), "holds signs that are no UTF-8", csvTry
	case bytes.HasPrefix(data, []byte("%PDF")) || bytes.ContainsAny(first, "<{["):
		return "", 0, "is no table, but a page or a program's file", "open it in a spreadsheet, and " + csvTry
	}
	text = string(data)
	if !strings.Contains(text, "\n") {
		text = strings.ReplaceAll(text, "\r", "\n")
	}
	return text, 0, "", ""
}

func invalid(text []byte) int {
	for i := 0; i < len(text); {
		c, n := utf8.DecodeRune(text[i:])
		if c == utf8.RuneError && n <= 1 {
			return i
		}
		i += n
	}
	return len(text)
}

// separated is what parts the cells: what the first line names (sep=;), or what the
// line of the header has most of. A line that names it is left empty, so that lines
// keep their numbers.
func separated(text string) (rest string, by rune) {
	first, after, _ := strings.Cut(text, "\n")
	if named, is := strings.CutPrefix(strings.ToLower(strings.Trim(strings.TrimSpace(first), `"`)), "sep="); is {
		if by, n := utf8.DecodeRuneInString(named); n == len(named) && strings.ContainsRune(";,\t|", by) {
			return "\n" + after, by
		}
	}
	for line := range strings.Lines(text) {
		if strings.Trim(line, " ;,\t|\r\n\"") == "" {
			continue // blank, or cells of which none is filled
		}
		by = ','
		for _, c := range ";\t|" {
			if strings.Count(line, string(c)) > strings.Count(line, string(by)) {
				by = c
			}
		}
		return text, by
	}
	return text, ','
}
