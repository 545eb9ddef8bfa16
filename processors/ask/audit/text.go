package audit

import (
	"bufio"
	"fmt"
	"io"
)

// WriteText writes a line for each bay, and examples of what is wrong.
func (r Report) WriteText(to io.Writer) error {
	w := bufio.NewWriter(to)
	for _, b := range r.Bays {
		state := "clean"
		switch {
		case b.Wrong() > 0:
			state = "WRONG"
		case b.Unknown != "":
			state = "unknown"
		}
		fmt.Fprintf(w, "%-8s %-8s journalled %d, in the log %d, stored %d; missing %d, lost to damage %d, counted twice %d, untagged %d, mistagged %d, verdicts wrong %d, rows wrong %d (mended %d), numbers claimed twice %d; repeats %d, rejected %d, unsure of time %d, not in the log %d, set aside %d\n",
			b.Bay, state, b.Journaled, b.Published, b.Stored, b.Missing, b.Lost, b.Duplicate, b.Untagged, b.Mistagged, b.Misjudged, b.Rows, b.Mended, b.Claimed, b.Repeats, b.Rejected, b.Unsure, b.NotInLog, b.SetAside)
		if b.Unknown != "" {
			fmt.Fprintf(w, "         %s\n", b.Unknown)
		}
		for _, e := range b.Examples {
			fmt.Fprintf(w, "         %s\n", e)
		}
	}
	return w.Flush()
}
