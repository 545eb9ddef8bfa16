package audit

import (
	"bufio"
	"fmt"
	"io"
)

// WriteText writes a line for each bay and for the visit events, and examples of
// what is wrong.
func (r Report) WriteText(to io.Writer) error {
	w := bufio.NewWriter(to)
	for _, b := range r.Bays {
		fmt.Fprintf(w, "%-8s %-8s journalled %d, in the log %d, stored %d; missing %d, lost to damage %d, counted twice %d, untagged %d, "+
			"mistagged %d, rows wrong %d, numbers claimed twice %d; repeats %d, rejected %d, unsure of time %d, not in the log %d, set aside %d\n",
			b.Bay, state(b.Wrong(), b.Unknown), b.Journaled, b.Published, b.Stored, b.Missing, b.Lost, b.Duplicate, b.Untagged, b.Mistagged, b.Rows,
			b.Claimed,
			b.Repeats, b.Rejected, b.Unsure, b.NotInLog, b.SetAside)
		fmt.Fprintf(w, "         %d rows held against the journals: altered %d, forged %d; journals side by side %d, shots in two bays %d, "+
			"refused without a note %d; mended %d; of another flight model %d, computed anew %d\n",
			b.Compared, b.Altered, b.Forged, b.Beside, b.Shared, b.Unnoted, b.Mended, b.Outdated, b.Renewed)
		remarks(w, b.Unknown, b.Examples)
	}
	if v := r.Visits; v != nil {
		fmt.Fprintf(w, "%-8s %-8s journalled %d, in the log %d, stored %d; missing %d, altered %d, forged %d, not in the log %d; mended %d\n",
			"visits", state(v.Wrong(), v.Unknown), v.Journaled, v.Published, v.Stored, v.Missing, v.Altered, v.Forged, v.NotInLog, v.Mended)
		remarks(w, v.Unknown, v.Examples)
	}
	return w.Flush()
}

func state(wrong uint64, unknown string) string {
	switch {
	case wrong > 0:
		return "WRONG"
	case unknown != "":
		return "unknown"
	}
	return "clean"
}

func remarks(w io.Writer, unknown string, examples []string) {
	if unknown != "" {
		fmt.Fprintf(w, "         %s\n", unknown)
	}
	for _, e := range examples {
		fmt.Fprintf(w, "         %s\n", e)
	}
}
