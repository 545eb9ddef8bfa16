package event

import "strings"

// KindOf is the word for what a visit event says, as its field is named in the
// contract: trial_started, shots_moved, …; empty for an event without a body.
func KindOf(ev *VisitEvent) string {
	m := ev.ProtoReflect()
	body := m.Descriptor().Oneofs().ByName("body")
	f := m.WhichOneof(body)
	if f == nil {
		return ""
	}
	return strings.ToLower(string(f.Name()))
}
