package collector

import (
	"strings"

	"fairlead/ingest/contract/event"
)

// latest remembers of the last lines of a feed which were refused: a feed whose
// every line is refused looks alive by its line count and takes no shot at all.
type latest struct {
	refused   [20]bool
	n         int
	lastFault string
}

func (l *latest) add(entries []*event.Entry) {
	for _, e := range entries {
		l.refused[l.n%len(l.refused)] = !e.Valid()
		l.n++
		if f := e.GetFaults(); len(f) > 0 {
			l.lastFault = faultWords(f[0])
		}
	}
}

// inARow is how many lines one after the other must be refused to be looked at alone:
// what was taken before a device's update says nothing of what it writes since.
const inARow = 5

// counts returns how many lines are remembered, and how many of them were refused;
// of the latest alone, where they were refused one after the other.
func (l *latest) counts() (lines, refused uint32) {
	for run := uint32(0); int(run) < min(l.n, len(l.refused)) && l.refused[(l.n-1-int(run))%len(l.refused)]; {
		if run++; run >= inARow {
			lines, refused = run, run
		}
	}
	if refused > 0 {
		return lines, refused
	}
	for _, r := range l.refused[:min(l.n, len(l.refused))] {
		lines++
		if r {
			refused++
		}
	}
	return lines, refused
}

// faultWords is a fault as a person reads it: ball speed: "11B,0" not a number; what to try.
func faultWords(f *event.Fault) string {
	words := f.Reason
	if f.Value != "" {
		words = `"` + f.Value + `" ` + words
	}
	if f.Field != "" {
		words = fieldWords(f.Field) + ": " + words
	}
	if f.Hint != "" {
		words += "; " + f.Hint
	}
	return words
}

// fieldWords are what people call a field that a map fills.
func fieldWords(field string) string {
	if info, ok := event.FieldNamed(field); ok {
		return strings.ToLower(info.Label[:1]) + info.Label[1:]
	}
	return strings.ReplaceAll(field, "_", " ")
}
