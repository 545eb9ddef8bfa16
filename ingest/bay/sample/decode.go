package sample

import (
	"bytes"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// decode turns a file's bytes into text and names their encoding as maps do.
func decode(data []byte) (text, name string) {
	with := func(e encoding.Encoding, name string) (string, string) {
		out, err := e.NewDecoder().Bytes(data)
		if err != nil {
			return string(bytes.ToValidUTF8(data, []byte("\uFFFD"))), ""
		}
		return string(out), name
	}
	switch {
	case bytes.HasPrefix(data, []byte{0xFF, 0xFE}), bytes.HasPrefix(data, []byte{0xFE, 0xFF}):
		return with(unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), "utf-16")
	case bytes.HasPrefix(data, []byte{0xEF, 0xBB, 0xBF}):
		return string(data[3:]), ""
	}
	even, odd := 0, 0
	for i, c := range data[:min(len(data), 4096)] {
		if c == 0 && i%2 == 0 {
			even++
		} else if c == 0 {
			odd++
		}
	}
	switch n := min(len(data), 4096) / 4; {
	case odd > n && even < odd/8:
		return with(unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM), "utf-16le")
	case even > n && odd < even/8:
		return with(unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM), "utf-16be")
	case utf8.Valid(data), utf8.Valid(trimPartial(data)):
		return string(data), ""
	}
	return with(charmap.Windows1252, "windows-1252")
}

// trimPartial cuts a character that the end of a sample has cut.
func trimPartial(data []byte) []byte {
	for i := 1; i <= 3 && i < len(data); i++ {
		if utf8.RuneStart(data[len(data)-i]) {
			return data[:len(data)-i]
		}
	}
	return data
}
