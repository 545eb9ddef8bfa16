package feed

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/event"
)

// Reject is one reason why a line was refused, for people and for programs.
type Reject struct {
	File   string `json:"file"`
	Line   uint64 `json:"line"`
	Field  string `json:"field,omitempty"`
	Column string `json:"column,omitempty"`
	Value  string `json:"value,omitempty"`
	Reason string `json:"reason"`
	Hint   string `json:"hint,omitempty"`
}

// Rejects returns the faults of an entry with their places; none for a shot.
func Rejects(m *Map, e *event.Entry) (out []Reject) {
	for _, f := range e.GetFaults() {
		out = append(out, Reject{
			File: e.File, Line: e.Line, Field: f.Field, Column: m.Column(f.Field), Value: f.Value, Reason: f.Reason, Hint: f.Hint,
		})
	}
	return out
}

// String writes file:line: column (field): "value" reason; hint.
func (r Reject) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s:%d: ", r.File, r.Line)
	switch {
	case r.Column != "":
		fmt.Fprintf(&b, "column %q (%s): ", r.Column, r.Field)
	case r.Field != "":
		fmt.Fprintf(&b, "%s: ", r.Field)
	}
	if r.Value != "" {
		fmt.Fprintf(&b, "%q ", r.Value)
	}
	b.WriteString(r.Reason)
	if r.Hint != "" {
		b.WriteString("; " + r.Hint)
	}
	return b.String()
}
