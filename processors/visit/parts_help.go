package visit

import (
	"strings"

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
	return "Parts of a build: " + parts.String() +
		".\nNumbers without a unit are in the one given, or in the only other one in which they make sense: length=37.5\nare inches. As on " +
		"paper: 37 1/2in, 37½, D2, 31°, 65g; against what it was: +1/2, -2g, lie='2 up', lie='1 flat'."
}
