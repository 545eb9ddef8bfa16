package rolling

import (
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// Spec is one known part of a build.
type Spec struct {
	Field string `json:"field"`
	Label string `json:"label"`
	Value
}

// Value is what is known of a part: a number in its stored unit, or words.
type Value struct {
	Known    bool    `json:"known"`
	Measured bool    `json:"measured,omitempty"` // on this very club; else stated
	Number   float64 `json:"number,omitempty"`
	Unit     string  `json:"unit,omitempty"`
	Text     string  `json:"text,omitempty"`
}

// Change is one difference of a build from another one. A side that is not
// known says so: 'unknown' is no difference that one may count on.
type Change struct {
	Field string `json:"field"`
	Label string `json:"label"`
	From  Value  `json:"from"`
	To    Value  `json:"to"`
}

func valueOf(s *event.Spec, info event.BuildFieldInfo) Value {
	if s == nil {
		return Value{}
	}
	v := Value{Known: true, Measured: s.Knowledge == event.Knowledge_KNOWLEDGE_MEASURED}
	if info.Text {
		v.Text = s.Text
	} else {
		v.Number, v.Unit = s.Number, unit.Stored(info.Quantity)
	}
	return v
}

func specsOf(b *event.Build) []Spec {
	out := []Spec{}
	for _, info := range event.BuildFields() {
		if s := b.Spec(info.Field); s != nil {
			out = append(out, Spec{info.Name, info.Label, valueOf(s, info)})
		}
	}
	return out
}

// Changes lists how a build differs from another one, in the order of the
// contract: parts that are known of either and not the same. Whether a number
// was stated or measured is no difference.
func Changes(from, to *event.Build) []Change {
	out := []Change{}
	for _, info := range event.BuildFields() {
		a, b := from.Spec(info.Field), to.Spec(info.Field)
		if a == nil && b == nil || a != nil && b != nil && a.Number == b.Number && a.Text == b.Text {
			continue
		}
		out = append(out, Change{info.Name, info.Label, valueOf(a, info), valueOf(b, info)})
	}
	return out
}
