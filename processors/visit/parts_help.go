package visit

import (
	"strings"
	"unicode/utf8"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// PartsHelp lists the parts of a build, and how their values may be written.
func PartsHelp() string {
	var parts strings.Builder
	for i, p := range event.BuildFields() {
		if i > 0 {
			parts.WriteString(", ")
		}
		parts.WriteString(p.Name)
		if !p.Text && unit.Stored(p.Quantity) != "" {
			parts.WriteString(" (" + unit.Stored(p.Quantity) + ")")
		}
	}
	return wrapped("Parts of a build: "+parts.String()+".", 86) + "\n" +
		wrapped("Numbers without a unit are in the one given, or in the only other one in which they make sense: length=37.5 are inches. "+
			"As on paper: 37 1/2in, 37½, D2, 31°, 65g; against what it was: +1/2, -2g, lie='2 up', lie='1 flat'.", 86)
}

// wrapped breaks a text between words into lines of at most so many signs.
func wrapped(text string, most int) string {
	var out strings.Builder
	at := 0
	for i, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > most:
			out.WriteString("\n")
			at = 0
		default:
			out.WriteString(" ")
			at++
		}
		out.WriteString(word)
		at += n
	}
	return out.String()
}
